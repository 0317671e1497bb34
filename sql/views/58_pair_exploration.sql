-- One row per pair with a cutting stage and a combining: weather in between against what it lost and gave. To look at,
-- not to conclude from. Events are null, not 0, in a year without any weather on record. Differences are standing minus
-- windrowed, bu/ac.
create or replace view pair_exploration as
with events as (
    select
        crop_year,
        pair,
        count(*) as events,
        max(wind_kmh) as worst_wind_kmh
    from pair_weather
    group by crop_year, pair
),

differences as materialized (  -- read twice below, worked out once
    select crop_year, pair, field, measure, difference
    from pair_measures
    where measure in ('loss', 'yield')
)

select
    pair_timing.crop_year,
    pair_timing.pair,
    losses.field,
    pair_timing.cut_stage_on,
    pair_timing.days_between,
    case when year_weather.is_weather_known then coalesce(events.events, 0) end as events,
    events.worst_wind_kmh,
    losses.difference as loss_difference,
    yields.difference as yield_difference
from pair_timing
left join events using (crop_year, pair)
left join year_weather using (crop_year)
left join differences as losses
    on losses.crop_year = pair_timing.crop_year and losses.pair = pair_timing.pair and losses.measure = 'loss'
left join differences as yields
    on yields.crop_year = pair_timing.crop_year and yields.pair = pair_timing.pair and yields.measure = 'yield'
where pair_timing.days_between is not null;
