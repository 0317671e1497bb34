-- One row per plot: hours, fuel and stops of its harvest jobs. Jobs are the windrowing, rolling, application and
-- combining on record, and other work with hours; a bought product, drying and freight are none, and an application more
-- than 14 days before the product is an earlier one (as in plot_costs). Work on several plots in one go carries one job
-- name: what its rows say is added up and split by acres; a job of both methods says nothing of either. Combining is
-- always needed, windrowing where it was windrowed, an application where a product went on; else the sum is unknown.
-- Pace is effective field capacity, acres an hour in the field (Iowa State University Extension, PM 696).
create or replace view plot_machines as
with named as (
    select
        operations.*,
        plots.method,
        plots.acres,
        coalesce(operation_items.item, lower(trim(operations.operation))) as item
    from operations
    inner join plots using (crop_year, field, plot)
    left join operation_items on operation_items.operation = lower(trim(operations.operation))
    where
        coalesce(operation_items.item, '') not in ('pre-harvest product', 'drying', 'freight')
        and not (
            coalesce(operation_items.item, '') = 'application'
            and coalesce(operations.done_on < plots.preharvest_on - 14, false)
        )
),

job_plots as (
    select distinct crop_year, item, job, field, plot, method, acres from named where job is not null
),

jobs as (
    select
        job_plots.crop_year,
        job_plots.item,
        job_plots.job,
        count(distinct job_plots.method) > 1 as is_of_both,
        case when count(*) = count(job_plots.acres) then sum(job_plots.acres order by field, plot) end as acres
    from job_plots
    group by job_plots.crop_year, job_plots.item, job_plots.job
),

job_work as (
    select
        crop_year,
        item,
        job,
        sum(hours order by hours) as hours,
        sum(fuel_l order by fuel_l) as fuel_l,
        sum(stops) as stops
    from named
    where job is not null
    group by crop_year, item, job
),

parts as (
    select crop_year, field, plot, item, hours, fuel_l, stops::double as stops, false as is_of_both
    from named
    where job is null
    union all
    select
        job_plots.crop_year,
        job_plots.field,
        job_plots.plot,
        item,
        case when not jobs.is_of_both then job_work.hours * job_plots.acres / jobs.acres end,
        case when not jobs.is_of_both then job_work.fuel_l * job_plots.acres / jobs.acres end,
        case when not jobs.is_of_both then job_work.stops * job_plots.acres / jobs.acres end,
        jobs.is_of_both
    from job_plots
    inner join jobs using (crop_year, item, job)
    inner join job_work using (crop_year, item, job)
),

harvest_jobs as (
    select
        crop_year,
        field,
        plot,
        item,
        case when count(*) = count(hours) then sum(hours order by hours) end as hours,
        case when count(*) = count(fuel_l) then sum(fuel_l order by fuel_l) end as fuel_l,
        case when count(*) = count(stops) then sum(stops order by stops) end as stops,
        bool_or(is_of_both) as is_of_both
    from parts
    where item in ('windrowing', 'rolling', 'application', 'combining') or hours is not null or fuel_l is not null
    group by crop_year, field, plot, item
),

needed as (
    select crop_year, field, plot, 'combining' as item from plots
    union
    select crop_year, field, plot, 'windrowing' from plots where method = 'windrowed'
    union
    select crop_year, field, plot, 'application'
    from plots where preharvest_on is not null or preharvest_product is not null
    union
    select crop_year, field, plot, item from harvest_jobs
),

summed as (
    select
        needed.crop_year,
        needed.field,
        needed.plot,
        case when count(*) = count(harvest_jobs.hours) then sum(harvest_jobs.hours order by item) end as hours,
        case when count(*) = count(harvest_jobs.fuel_l) then sum(harvest_jobs.fuel_l order by item) end as fuel_l,
        max(harvest_jobs.hours) filter (where item = 'combining') as combining_hours,
        max(harvest_jobs.hours) filter (where item = 'windrowing') as windrowing_hours,
        max(harvest_jobs.stops) filter (where item = 'combining') as combining_stops,
        coalesce(bool_or(harvest_jobs.is_of_both) filter (where item = 'combining'), false) as is_combined_with_both,
        coalesce(bool_or(harvest_jobs.is_of_both), false) as is_with_both,
        min(item) filter (where harvest_jobs.hours is null) as without_hours,
        min(item) filter (where harvest_jobs.fuel_l is null) as without_fuel
    from needed
    left join harvest_jobs using (crop_year, field, plot, item)
    group by needed.crop_year, needed.field, needed.plot
),

combined as (
    select
        crop_year,
        field,
        plot,
        string_agg(distinct machine, ', ' order by machine) as machine,
        string_agg(distinct operator, ', ' order by operator) as operator
    from named
    where item = 'combining'
    group by crop_year, field, plot
)

select
    plots.crop_year,
    plots.field,
    plots.plot,
    plots.method,
    plots.acres,
    plots.waiting_hours,
    summed.combining_hours,
    summed.windrowing_hours,
    combined.machine,
    combined.operator,
    plots.acres / nullif(summed.combining_hours, 0) as pace_ac_h,
    100 * summed.hours / plots.acres as hours_per_100_ac,
    summed.fuel_l / plots.acres as fuel_l_ac,
    100 * summed.combining_stops / plots.acres as stops_per_100_ac,
    case
        when summed.is_combined_with_both then 'the hours of combining by method, in one job with both'
        when summed.combining_hours is null then 'the hours of combining'
    end as missing_pace,
    case
        when summed.is_with_both then 'the hours by method, in one job with both'
        when summed.hours is null then 'the hours of ' || summed.without_hours
    end as missing_hours,
    case
        when summed.is_with_both then 'the fuel by method, in one job with both'
        when summed.fuel_l is null then 'the fuel of ' || summed.without_fuel
    end as missing_fuel,
    case
        when summed.is_combined_with_both then 'the stops by method, in one job with both'
        when summed.combining_stops is null then 'a count of stops while combining'
    end as missing_stops
from plots
inner join summed using (crop_year, field, plot)
left join combined using (crop_year, field, plot);
