-- One row per plot and grade on its slips: the share of the plot's crop that is sold in that grade, 0 to 1. Each slip
-- counts alike. Where every slip is named after a load on record (its sample is the load's ticket), each counts by the
-- net clean weight of that load instead. A plot without a grade on a slip has no row.
create or replace view grade_shares as
with slips as (
    select
        samples.crop_year,
        samples.field,
        samples.plot,
        samples.grade,
        samples.sample,
        load_mass.net_clean_kg,
        count(*) over of_plot as slips,
        count(load_mass.net_clean_kg) over of_plot as slips_of_loads,
        sum(load_mass.net_clean_kg) over of_plot as loads_kg
    from samples
    left join load_mass
        on load_mass.crop_year = samples.crop_year
        and load_mass.field = samples.field
        and load_mass.plot = samples.plot
        and load_mass.ticket = samples.sample
    where samples.grade is not null
    window of_plot as (partition by samples.crop_year, samples.field, samples.plot)
)

select
    crop_year,
    field,
    plot,
    grade,
    sum(
        case when slips_of_loads = slips and loads_kg > 0 then net_clean_kg / loads_kg else 1.0 / slips end
        order by sample
    ) as share
from slips
group by crop_year, field, plot, grade;
