-- One row per plot and measure: the value in the measure's own unit, or null and in words what is missing.
create or replace view plot_measures as
with every_plot as (
    select
        plots.method,
        plot_yield.*,
        plot_quality.green_seed_pct,
        plot_quality.test_weight_kg_hl,
        plot_quality.thousand_seed_g,
        plot_loss.loss_bu_ac,
        plot_loss.missing as missing_loss,
        plot_timing.days_to_harvest,
        case
            when plot_timing.seeded_on is null then 'the day of seeding'
            when plot_timing.harvested_on is null then 'the day of combining'
        end as missing_day,
        plot_money.net_return_dollars_ac,
        plot_money.missing as missing_money
    from plots
    inner join plot_yield using (crop_year, field, plot)
    inner join plot_quality using (crop_year, field, plot)
    inner join plot_loss using (crop_year, field, plot)
    inner join plot_timing using (crop_year, field, plot)
    inner join plot_money using (crop_year, field, plot)
),

long as (
    select
        crop_year, field, plot, method, 'yield' as measure, yield_bu_ac as value,
        coalesce(missing_loads, missing_acres, missing_weight, missing_dockage, missing_moisture) as missing
    from every_plot
    union all
    select
        crop_year, field, plot, method, 'yield_as_sold', yield_as_sold_bu_ac,
        coalesce(missing_loads, missing_acres, missing_weight, missing_dockage)
    from every_plot
    union all
    select
        crop_year, field, plot, method, 'dockage', dockage_pct,
        coalesce(missing_loads, missing_weight, missing_dockage)
    from every_plot
    union all
    select
        crop_year, field, plot, method, 'moisture', moisture_pct,
        coalesce(missing_loads, missing_weight, missing_dockage, missing_moisture)
    from every_plot
    union all
    select crop_year, field, plot, method, 'green_seed', green_seed_pct, 'a crush count' from every_plot
    union all
    select crop_year, field, plot, method, 'test_weight', test_weight_kg_hl, 'a test weight' from every_plot
    union all
    select crop_year, field, plot, method, 'thousand_seed', thousand_seed_g, 'a thousand seed weight' from every_plot
    union all
    select crop_year, field, plot, method, 'loss', loss_bu_ac, missing_loss from every_plot
    union all
    select crop_year, field, plot, method, 'days_to_harvest', days_to_harvest, missing_day from every_plot
    union all
    select crop_year, field, plot, method, 'net_return', net_return_dollars_ac, missing_money from every_plot
)

select
    crop_year,
    field,
    plot,
    method,
    measure,
    value,
    case when value is null then missing end as missing
from long;
