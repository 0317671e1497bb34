-- One row per plot: seeds lost to the square metre, from its loss and the thousand seed weight that loss_spots took, and the
-- volunteers that were counted in the spring after, the mean of the spots of the last day.
create or replace view plot_volunteers as
with seed as (
    select crop_year, field, plot, any_value(thousand_seed_g) as thousand_seed_g
    from loss_spots
    group by crop_year, field, plot
),

last_days as (
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
    plots.method,
    plot_loss.loss_bu_ac * constants.g_m2_per_bu_ac / (seed.thousand_seed_g / 1000) as lost_seeds_m2,
    counted.plants_m2
from plots
inner join plot_loss using (crop_year, field, plot)
left join seed using (crop_year, field, plot)
left join counted using (crop_year, field, plot)
cross join constants;
