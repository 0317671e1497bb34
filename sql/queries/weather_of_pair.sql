-- What happened on the fields of one pair from the cutting stage to the last combining.
select
    happened_on,
    field,
    event,
    reading,
    unit,
    notes,
    hit_standing,
    hit_windrowed
from pair_weather
where crop_year = $crop_year and pair = $pair
order by happened_on, event;
