-- The draws of a crop year, and why one was not kept to; null where it was.
select
    draws.*,
    broken_draws.reason
from draws
left join broken_draws using (crop_year, pair)
where draws.crop_year = $crop_year
order by draws.drawn_at, draws.place;
