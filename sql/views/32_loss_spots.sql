-- One row per spot: what lay there as bu/ac. Seeds become grams by the plot's
-- own thousand seed weight, else by that crop year's mean, and thousand_seed_from says which. A pan behind the combine
-- is divided by cut width / discharge width, because straw and chaff fall in less than was cut. Where nothing was counted
-- or weighed, somebody else's percent is taken of the plot's yield as sold; is_percent says so.
create or replace view loss_spots as
with seed as materialized (  -- read twice below, worked out once
    select crop_year, field, plot, thousand_seed_g from plot_quality
),

year_mean as (
    select
        crop_year,
        avg(thousand_seed_g order by field, plot) as thousand_seed_g
    from seed
    group by crop_year
),

weighed as (
    select
        loss_checks.*,
        coalesce(seed.thousand_seed_g, year_mean.thousand_seed_g) as thousand_seed_g,
        case
            when loss_checks.grams is not null then 'weighed'
            when loss_checks.seeds is null then null
            when seed.thousand_seed_g is not null then 'this plot'
            when year_mean.thousand_seed_g is not null then 'this crop year'
        end as thousand_seed_from,
        case
            when loss_checks.place = 'pan behind combine' then loss_checks.cut_width_m / loss_checks.discharge_width_m
            else 1
        end as concentration_factor,
        loss_checks.grams is null and loss_checks.seeds is null as is_percent,
        plot_yield.yield_as_sold_bu_ac
    from loss_checks
    left join plot_yield using (crop_year, field, plot)
    left join seed using (crop_year, field, plot)
    left join year_mean using (crop_year)
)

select
    weighed.* exclude (yield_as_sold_bu_ac),
    case
        when is_percent then loss_pct / 100 * yield_as_sold_bu_ac
        else coalesce(grams, seeds * thousand_seed_g / 1000) / area_m2 / concentration_factor / constants.g_m2_per_bu_ac
    end as loss_bu_ac
from weighed
cross join constants;
