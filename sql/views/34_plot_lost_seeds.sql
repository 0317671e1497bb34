-- One row per plot: seeds lost to the square metre, from its loss and the thousand seed weight that loss_spots took.
create or replace view plot_lost_seeds as
with seed as (
    select crop_year, field, plot, any_value(thousand_seed_g) as thousand_seed_g
    from loss_spots
    group by crop_year, field, plot
)

select
    plots.crop_year,
    plots.field,
    plots.plot,
    plots.method,
    plot_loss.loss_bu_ac * constants.g_m2_per_bu_ac / (seed.thousand_seed_g / 1000) as lost_seeds_m2
from plots
inner join plot_loss using (crop_year, field, plot)
left join seed using (crop_year, field, plot)
cross join constants;
