-- One row per crop year and method: acres and hours of the plots whose combining hours are on record, hours of windrowing
-- beside their acres, and the days from the first to the last combining of the method, without those with rain or snow.
with days as (
    select
        plots.crop_year,
        plots.method,
        min(plots.harvested_on) as first_on,
        max(plots.harvested_on) as last_on
    from plots
    group by plots.crop_year, plots.method
),

lost as (
    select
        days.crop_year,
        days.method,
        count(distinct weather.happened_on) as days
    from days
    inner join weather
        on weather.event in ('rain', 'snow') and weather.happened_on between days.first_on and days.last_on
    group by days.crop_year, days.method
)

select
    plot_machines.crop_year,
    plot_machines.method,
    sum(plot_machines.acres) as acres,
    sum(plot_machines.combining_hours) as combining_hours,
    sum(plot_machines.acres) filter (where plot_machines.windrowing_hours is not null) as windrowed_acres,
    sum(plot_machines.windrowing_hours) as windrowing_hours,
    any_value(date_diff('day', days.first_on, days.last_on) + 1 - coalesce(lost.days, 0)) as suitable_days
from plot_machines
inner join days using (crop_year, method)
left join lost using (crop_year, method)
where plot_machines.acres is not null and plot_machines.combining_hours is not null
group by plot_machines.crop_year, plot_machines.method
order by plot_machines.crop_year, plot_machines.method;
