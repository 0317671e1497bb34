-- One row per plot and measure: the value in the measure's own unit, or null and what is missing. `missing` says the
-- first thing in words; `lacks` lists all of it, each with missing_in: the table in which it stands, and the column
-- behind a dot where the row is there and a value is not.
create or replace view plot_measures as
with every_plot as (
    select
        plots.method,
        plot_yield.*,
        plot_quality.green_seed_pct,
        plot_quality.test_weight_kg_hl,
        plot_quality.thousand_seed_g,
        plot_loss.loss_bu_ac,
        plot_timing.days_to_harvest,
        plot_money.net_return_dollars_ac,
        plot_machines.pace_ac_h,
        plot_machines.hours_per_100_ac,
        plot_machines.fuel_l_ac,
        plot_machines.stops_per_100_ac,
        plot_volunteers.plants_m2,
        {'missing': plot_yield.missing_loads, 'missing_in': 'loads'} as no_loads,
        {'missing': plot_yield.missing_acres, 'missing_in': 'plots.acres'} as no_acres,
        {'missing': plot_yield.missing_weight, 'missing_in': 'loads.weight_kg'} as no_weight,
        {'missing': plot_yield.missing_dockage, 'missing_in': 'loads.dockage_pct'} as no_dockage,
        {'missing': plot_yield.missing_moisture, 'missing_in': 'loads.moisture_pct'} as no_moisture,
        {'missing': plot_loss.missing_checks, 'missing_in': 'loss_checks'} as no_checks,
        {'missing': plot_loss.missing_ground, 'missing_in': 'loss_checks'} as no_ground,
        {'missing': plot_loss.missing_pan, 'missing_in': 'loss_checks'} as no_pan,
        {'missing': plot_loss.missing_yield, 'missing_in': 'loads'} as no_yield,
        {'missing': plot_loss.missing_seed_weight, 'missing_in': 'samples.thousand_seed_g'} as no_seed_weight,
        {'missing': plot_machines.missing_pace, 'missing_in': 'operations.hours'} as no_pace,
        {'missing': plot_machines.missing_hours, 'missing_in': 'operations.hours'} as no_hours,
        {'missing': plot_machines.missing_fuel, 'missing_in': 'operations.fuel_l'} as no_fuel,
        {'missing': plot_machines.missing_stops, 'missing_in': 'operations.stops'} as no_stops,
        case
            when plot_timing.seeded_on is null then {'missing': 'the day of seeding', 'missing_in': 'plantings.seeded_on'}
            else {'missing': 'the day of combining', 'missing_in': 'plots.harvested_on'}
        end as no_day,
        case
            when plot_yield.yield_as_sold_bu_ac is not null
                then {'missing': plot_money.missing, 'missing_in': plot_money.missing_in}
        end as no_money
    from plots
    inner join plot_yield using (crop_year, field, plot)
    inner join plot_quality using (crop_year, field, plot)
    inner join plot_loss using (crop_year, field, plot)
    inner join plot_timing using (crop_year, field, plot)
    inner join plot_money using (crop_year, field, plot)
    inner join plot_machines using (crop_year, field, plot)
    inner join plot_volunteers using (crop_year, field, plot)
),

long as (
    select
        crop_year, field, plot, method, 'yield' as measure, yield_bu_ac as value,
        [no_loads, no_acres, no_weight, no_dockage, no_moisture] as lacks
    from every_plot
    union all
    select
        crop_year, field, plot, method, 'yield_as_sold', yield_as_sold_bu_ac,
        [no_loads, no_acres, no_weight, no_dockage]
    from every_plot
    union all
    select crop_year, field, plot, method, 'dockage', dockage_pct, [no_loads, no_weight, no_dockage] from every_plot
    union all
    select crop_year, field, plot, method, 'moisture', moisture_pct, [no_loads, no_weight, no_dockage, no_moisture]
    from every_plot
    union all
    select
        crop_year, field, plot, method, 'green_seed', green_seed_pct,
        [{'missing': 'a crush count', 'missing_in': 'samples.green_seeds'}]
    from every_plot
    union all
    select
        crop_year, field, plot, method, 'test_weight', test_weight_kg_hl,
        [{'missing': 'a test weight', 'missing_in': 'samples.test_weight_kg_hl'}]
    from every_plot
    union all
    select
        crop_year, field, plot, method, 'thousand_seed', thousand_seed_g,
        [{'missing': 'a thousand seed weight', 'missing_in': 'samples.thousand_seed_g'}]
    from every_plot
    union all
    select
        crop_year, field, plot, method, 'loss', loss_bu_ac,
        [no_checks, no_ground, no_pan, no_seed_weight, no_yield]
    from every_plot
    union all
    select crop_year, field, plot, method, 'days_to_harvest', days_to_harvest, [no_day] from every_plot
    union all
    select
        crop_year, field, plot, method, 'net_return', net_return_dollars_ac,
        [no_loads, no_acres, no_weight, no_dockage, no_money]
    from every_plot
    union all
    select crop_year, field, plot, method, 'combining_pace', pace_ac_h, [no_acres, no_pace] from every_plot
    union all
    select crop_year, field, plot, method, 'machine_hours', hours_per_100_ac, [no_acres, no_hours] from every_plot
    union all
    select crop_year, field, plot, method, 'fuel', fuel_l_ac, [no_acres, no_fuel] from every_plot
    union all
    select crop_year, field, plot, method, 'stops', stops_per_100_ac, [no_acres, no_stops] from every_plot
    union all
    select
        crop_year, field, plot, method, 'volunteers', plants_m2,
        [{'missing': 'a count of volunteers in spring', 'missing_in': 'spring_counts'}]
    from every_plot
),

lacking as (
    select
        * exclude (lacks),
        case
            when value is null then list_filter(lacks, lambda lack: lack.missing is not null) else []
        end as lacks
    from long
)

select
    crop_year,
    field,
    plot,
    method,
    measure,
    value,
    lacks[1].missing as missing,
    lacks
from lacking;
