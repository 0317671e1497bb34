-- One row per pair and event on one of its fields (or the whole farm) from the cutting stage to the last combining.
-- hit_standing, hit_windrowed: the crop of that side was still out. Wind in km/h where the unit was
-- understood: a mile is 1.609344 km (international foot), 1 m/s is 3.6 km/h, both by definition.
create or replace view pair_weather as
select
    pair_timing.crop_year,
    pair_timing.pair,
    weather.happened_on,
    weather.field,
    weather.event,
    weather.reading,
    weather.unit,
    weather.notes,
    case
        when weather.event <> 'wind' then null
        when lower(trim(weather.unit)) in ('km/h', 'kmh', 'kph') then weather.reading
        when lower(trim(weather.unit)) = 'mph' then weather.reading * 1.609344
        when lower(trim(weather.unit)) = 'm/s' then weather.reading * 3.6
    end as wind_kmh,
    coalesce(weather.field, pair_timing.standing_field) = pair_timing.standing_field
    and weather.happened_on <= pair_timing.standing_harvested_on as hit_standing,
    coalesce(weather.field, pair_timing.windrowed_field) = pair_timing.windrowed_field
    and weather.happened_on <= pair_timing.windrowed_harvested_on as hit_windrowed
from pair_timing
inner join weather
    on weather.happened_on between pair_timing.cut_stage_on
        and greatest(pair_timing.standing_harvested_on, pair_timing.windrowed_harvested_on)
    and (
        weather.field is null
        or weather.field = pair_timing.standing_field
        or weather.field = pair_timing.windrowed_field
    );

-- One row per pair with a cutting stage and a combining: weather in between against what it lost and gave. To look at,
-- not to conclude from. Differences are standing minus windrowed, bu/ac.
create or replace view pair_exploration as
with events as (
    select
        crop_year,
        pair,
        count(*) as events,
        max(wind_kmh) as worst_wind_kmh
    from pair_weather
    group by crop_year, pair
)

select
    pair_timing.crop_year,
    pair_timing.pair,
    losses.field,
    pair_timing.cut_stage_on,
    pair_timing.days_between,
    coalesce(events.events, 0) as events,
    events.worst_wind_kmh,
    losses.difference as loss_difference,
    yields.difference as yield_difference
from pair_timing
left join events using (crop_year, pair)
left join pair_measures as losses
    on losses.crop_year = pair_timing.crop_year and losses.pair = pair_timing.pair and losses.measure = 'loss'
left join pair_measures as yields
    on yields.crop_year = pair_timing.crop_year and yields.pair = pair_timing.pair and yields.measure = 'yield'
where pair_timing.days_between is not null;
