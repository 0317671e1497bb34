-- Weather on record from the first colour change to the last combining of a crop year.
with season as (
    select
        min(starts_on) as first_on,
        max(harvested_on) as last_on
    from plot_ripening
    where crop_year = $crop_year
)

select weather.*
from weather
inner join season on weather.happened_on between season.first_on and season.last_on
order by weather.happened_on, weather.event;
