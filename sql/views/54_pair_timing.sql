-- One row per pair: when its sides were cut and combined. The cutting stage is the day of windrowing, else the day of
-- the standing side's pre-harvest product. days_between: from the cutting stage to the combining of the standing side.
create or replace view pair_timing as
with sides as (
    select
        pair_plots.crop_year,
        pair_plots.pair,
        max(pair_plots.field) filter (where side = 'standing') as standing_field,
        max(pair_plots.field) filter (where side = 'windrowed') as windrowed_field,
        coalesce(
            max(plot_timing.windrowed_on) filter (where side = 'windrowed'),
            max(plot_timing.preharvest_on) filter (where side = 'standing')
        ) as cut_stage_on,
        max(plot_timing.harvested_on) filter (where side = 'standing') as standing_harvested_on,
        max(plot_timing.harvested_on) filter (where side = 'windrowed') as windrowed_harvested_on
    from pair_plots
    left join plot_timing using (crop_year, field, plot)
    group by pair_plots.crop_year, pair_plots.pair
)

select
    *,
    date_diff('day', cut_stage_on, standing_harvested_on) as days_between
from sides;
