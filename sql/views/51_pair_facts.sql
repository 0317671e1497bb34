-- One row per pair: what should be alike on both sides, and how the pair was made. Null where a side is unknown.
-- A yield monitor is far off when its field's certified total differs by more than 5 % (limit from memory, no source).
create or replace view pair_facts as
with plot_facts as (
    select
        plots.crop_year,
        plots.field,
        plots.plot,
        plots.seed_colour_change_pct,
        plantings.variety,
        plantings.seeded_on,
        plot_yield.weighed_by,
        round(abs(plot_yield.scale_factor - 1), 9) > 0.05 as is_monitor_far_off,
        plot_timing.is_interval_short
    from plots
    left join plantings using (crop_year, field)
    left join plot_yield using (crop_year, field, plot)
    left join plot_timing using (crop_year, field, plot)
)

select
    pairs.crop_year,
    pairs.pair,
    pairs.layout,
    pairs.allocation,
    standing.variety as standing_variety,
    windrowed.variety as windrowed_variety,
    standing.variety <> windrowed.variety as is_variety_different,
    abs(date_diff('day', standing.seeded_on, windrowed.seeded_on)) as days_between_seedings,
    windrowed.seed_colour_change_pct as windrow_colour_change_pct,
    standing.weighed_by as standing_weighed_by,
    windrowed.weighed_by as windrowed_weighed_by,
    standing.weighed_by <> windrowed.weighed_by or contains(standing.weighed_by, ' and ') as is_weighing_different,
    coalesce(standing.weighed_by = 'yield monitor', false)
    or coalesce(windrowed.weighed_by = 'yield monitor', false) as is_monitor_used,
    coalesce(standing.is_monitor_far_off, false) or coalesce(windrowed.is_monitor_far_off, false)
        as is_monitor_far_off,
    coalesce(standing.is_interval_short, false) or coalesce(windrowed.is_interval_short, false) as is_interval_short,
    broken_draws.reason is not null as is_draw_broken,
    planned_pairs.pair is not null as is_planned
from pairs
left join planned_pairs using (crop_year, pair)
left join broken_draws using (crop_year, pair)
left join plot_facts as standing
    on standing.crop_year = pairs.crop_year
    and standing.field = pairs.standing_field
    and standing.plot = pairs.standing_plot
left join plot_facts as windrowed
    on windrowed.crop_year = pairs.crop_year
    and windrowed.field = pairs.windrowed_field
    and windrowed.plot = pairs.windrowed_plot;
