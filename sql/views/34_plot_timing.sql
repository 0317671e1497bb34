-- One row per plot: days between seeding, cutting or product, and combining. Windrowing is the first cut of a windrowed
-- plot, combining that of a standing one (common practice, no source); analytics/trade/days.py holds the same while a plot
-- is typed. A short interval is fewer days from the product to the first cut than the label says, as typed. Where the day
-- of windrowing is blank it is known to be short only if the days to combining are too few already.
create or replace view plot_timing as
with first_cuts as (
    select
        *,
        case method when 'windrowed' then windrowed_on else harvested_on end as first_cut_on
    from plots
)

select
    first_cuts.crop_year,
    first_cuts.field,
    first_cuts.plot,
    first_cuts.method,
    plantings.seeded_on,
    first_cuts.windrowed_on,
    first_cuts.preharvest_on,
    first_cuts.harvested_on,
    first_cuts.seed_colour_change_pct,
    date_diff('day', plantings.seeded_on, first_cuts.harvested_on) as days_to_harvest,
    date_diff('day', first_cuts.windrowed_on, first_cuts.harvested_on) as days_in_windrow,
    date_diff('day', first_cuts.preharvest_on, first_cuts.harvested_on) as days_product_to_combine,
    date_diff('day', first_cuts.preharvest_on, first_cuts.first_cut_on) as days_after_product,
    first_cuts.preharvest_interval_days,
    date_diff('day', first_cuts.preharvest_on, coalesce(first_cuts.first_cut_on, first_cuts.harvested_on))
    < first_cuts.preharvest_interval_days
    or case when first_cuts.first_cut_on is not null then false end as is_interval_short
from first_cuts
left join plantings using (crop_year, field);
