-- One row per crop year with pairs: whether any weather of it is on record, and whether wind of at least the setting's
-- speed, or frost, came between cutting and combining. A year without a row of weather is not known, not quiet.
create or replace view year_weather as
with strong as (
    select coalesce(max(cast(value as double)), 60.0) as wind_kmh
    from settings
    where name = 'wind_kmh'
),

bad as (
    select distinct pair_weather.crop_year
    from pair_weather
    cross join strong
    where pair_weather.event = 'frost' or pair_weather.wind_kmh >= strong.wind_kmh
)

select
    years.crop_year,
    exists (select 1 from weather where year(weather.happened_on) = years.crop_year) as is_weather_known,
    bad.crop_year is not null as is_bad_year
from (select distinct crop_year from pairs) as years
left join bad using (crop_year);
