-- One row per pair: what should be alike on both sides, and how the pair was made. Null where a side is unknown.
-- A yield monitor is far off when its certified total differs by more than 5 % (limit from memory, no source; a well
-- calibrated one is within 3 %, a poor one 10 %: an Iowa State specialist, farm press 2015). Sides weighed by monitor and
-- combined more than two weeks or 4 points of moisture apart are apart (our choice, no source).
create or replace view pair_facts as
with plot_facts as (
    select
        pair_plots.crop_year,
        pair_plots.pair,
        pair_plots.side,
        plots.seed_colour_change_pct,
        plantings.variety,
        plantings.shatter_tolerant,
        plots.preharvest_on is not null or plots.preharvest_product is not null as has_preharvest_product,
        plantings.seeded_on,
        plot_yield.weighed_by,
        plot_yield.moisture_pct,
        plots.harvested_on,
        coalesce(contains(plot_yield.weighed_by, 'yield monitor'), false) as is_by_monitor,
        coalesce(contains(plot_yield.weighed_by, 'yield monitor') and not plot_yield.is_scaled, false) as is_unscaled,
        coalesce(round(abs(plot_yield.scale_factor - 1), 9) > 0.05, false) as is_monitor_far_off,
        coalesce(plot_timing.is_interval_short, false) as is_interval_short
    from pair_plots
    left join plots using (crop_year, field, plot)
    left join plantings using (crop_year, field)
    left join plot_yield using (crop_year, field, plot)
    left join plot_timing using (crop_year, field, plot)
)

select
    pairs.crop_year,
    pairs.pair,
    pairs.layout,
    pair_allocations.allocation,
    standing.variety <> windrowed.variety as is_variety_different,
    abs(date_diff('day', standing.seeded_on, windrowed.seeded_on)) as days_between_seedings,
    windrowed.seed_colour_change_pct as windrow_colour_change_pct,
    standing.shatter_tolerant as is_shatter_tolerant,
    standing.has_preharvest_product,
    standing.weighed_by <> windrowed.weighed_by or contains(standing.weighed_by, ' and ') as is_weighing_different,
    standing.is_unscaled or windrowed.is_unscaled as is_unscaled,
    (standing.is_by_monitor or windrowed.is_by_monitor)
    and (
        coalesce(abs(date_diff('day', standing.harvested_on, windrowed.harvested_on)) > 14, false)
        or coalesce(abs(standing.moisture_pct - windrowed.moisture_pct) > 4, false)
    ) as is_monitor_apart,
    standing.is_monitor_far_off or windrowed.is_monitor_far_off as is_monitor_far_off,
    standing.is_interval_short or windrowed.is_interval_short as is_interval_short,
    broken_draws.reason is not null as is_draw_broken,
    planned_pairs.pair is not null as is_planned
from pairs
inner join pair_allocations using (crop_year, pair)
left join planned_pairs using (crop_year, pair)
left join broken_draws using (crop_year, pair)
inner join plot_facts as standing
    on standing.crop_year = pairs.crop_year and standing.pair = pairs.pair and standing.side = 'standing'
inner join plot_facts as windrowed
    on windrowed.crop_year = pairs.crop_year and windrowed.pair = pairs.pair and windrowed.side = 'windrowed';
