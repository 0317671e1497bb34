-- One row per plot: days between seeding, cutting or product, and combining. A short interval is fewer days from the
-- product to the first cut than the label says, as typed; windrowing counts as the cut.
create or replace view plot_timing as
select
    plots.crop_year,
    plots.field,
    plots.plot,
    plots.method,
    plantings.seeded_on,
    plots.windrowed_on,
    plots.preharvest_on,
    plots.harvested_on,
    plots.seed_colour_change_pct,
    date_diff('day', plantings.seeded_on, plots.windrowed_on) as days_to_windrow,
    date_diff('day', plantings.seeded_on, plots.preharvest_on) as days_to_product,
    date_diff('day', plantings.seeded_on, plots.harvested_on) as days_to_harvest,
    date_diff('day', plots.windrowed_on, plots.harvested_on) as days_in_windrow,
    date_diff('day', plots.preharvest_on, plots.harvested_on) as days_product_to_combine,
    date_diff('day', plots.preharvest_on, coalesce(plots.windrowed_on, plots.harvested_on)) as days_after_product,
    plots.preharvest_interval_days,
    date_diff('day', plots.preharvest_on, coalesce(plots.windrowed_on, plots.harvested_on))
    < plots.preharvest_interval_days as is_interval_short
from plots
left join plantings using (crop_year, field);
