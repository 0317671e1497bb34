-- One row per plot: the volunteers that were counted in the spring after, the mean of the spots of the last day.
create or replace view plot_volunteers as
with last_days as (
    select crop_year, field, plot, max(counted_on) as counted_on from spring_counts group by crop_year, field, plot
),

counted as (
    select
        crop_year,
        field,
        plot,
        avg(spring_counts.plants / spring_counts.area_m2 order by spring_counts.spot) as plants_m2
    from spring_counts
    inner join last_days using (crop_year, field, plot, counted_on)
    group by crop_year, field, plot
)

select
    plots.crop_year,
    plots.field,
    plots.plot,
    counted.plants_m2
from plots
left join counted using (crop_year, field, plot);
