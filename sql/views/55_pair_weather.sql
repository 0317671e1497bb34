-- One row per pair and event on one of its fields (or the whole farm) from the cutting stage to the last combining.
-- hit_standing, hit_windrowed: the crop of that side was still out. Wind in km/h where the unit was
-- understood.
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
        when lower(trim(weather.unit)) = 'mph' then weather.reading * constants.km_per_mile
        when lower(trim(weather.unit)) = 'm/s' then weather.reading * constants.kmh_per_m_s
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
    )
cross join constants;
