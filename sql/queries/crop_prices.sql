-- What a tonne of the crop brought, newest year and best grade first.
select
    prices.crop_year,
    prices.grade,
    prices.dollars_per_tonne
from prices
cross join constants
where lower(prices.crop) = constants.crop
order by prices.crop_year desc, prices.grade;
