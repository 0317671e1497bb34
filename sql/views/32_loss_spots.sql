-- One row per spot: what lay there as bu/ac. Seeds become grams by the plot's
-- own thousand seed weight, else by that crop year's mean, and thousand_seed_from says which. A pan behind the combine
-- is divided by cut width / discharge width, because straw and chaff fall in less than was cut.
create or replace view loss_spots as
with year_mean as (
    select
        crop_year,
        avg(thousand_seed_g order by field, plot) as thousand_seed_g
    from plot_quality
    group by crop_year
),

weighed as (
    select
        loss_checks.*,
        coalesce(plot_quality.thousand_seed_g, year_mean.thousand_seed_g) as thousand_seed_g,
        case
            when loss_checks.grams is not null then 'weighed'
            when plot_quality.thousand_seed_g is not null then 'this plot'
            when year_mean.thousand_seed_g is not null then 'this crop year'
        end as thousand_seed_from,
        case
            when loss_checks.place = 'pan behind combine' then loss_checks.cut_width_m / loss_checks.discharge_width_m
            else 1
        end as concentration_factor
    from loss_checks
    left join plot_quality using (crop_year, field, plot)
    left join year_mean using (crop_year)
)

select
    weighed.*,
    coalesce(grams, seeds * thousand_seed_g / 1000) / area_m2 / concentration_factor / constants.g_m2_per_bu_ac
        as loss_bu_ac
from weighed
cross join constants;
