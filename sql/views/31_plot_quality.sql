-- One row per plot: samples summed (counts) or averaged (weights), and the share of it that is sold as No. 1, 0 to 1.
-- Green seed is what was counted; only where nothing was, the mean of what slips without a count say, and green_seed_from
-- tells which.
create or replace view plot_quality as
with counted as (
    select
        crop_year,
        field,
        plot,
        count(*) as samples,
        sum(seeds_crushed) filter (where green_seeds is not null) as seeds_crushed,
        sum(green_seeds) as green_seeds,
        avg(green_pct order by sample) as slip_green_pct,
        avg(test_weight_kg_hl order by sample) as test_weight_kg_hl,
        avg(thousand_seed_g order by sample) as thousand_seed_g,
        avg(heated_pct order by sample) as heated_pct,
        avg(total_damage_pct order by sample) as total_damage_pct
    from samples
    group by crop_year, field, plot
),

no1 as (
    select
        crop_year,
        field,
        plot,
        coalesce(sum(share) filter (where grade = '1'), 0) as share
    from grade_shares
    group by crop_year, field, plot
)

select
    plots.crop_year,
    plots.field,
    plots.plot,
    coalesce(counted.samples, 0) as samples,
    counted.seeds_crushed::bigint as seeds_crushed,
    counted.green_seeds::bigint as green_seeds,
    coalesce(100.0 * counted.green_seeds / counted.seeds_crushed, counted.slip_green_pct) as green_seed_pct,
    case
        when counted.green_seeds is not null then 'a count'
        when counted.slip_green_pct is not null then 'a slip without a count'
    end as green_seed_from,
    counted.test_weight_kg_hl,
    counted.thousand_seed_g,
    counted.heated_pct,
    counted.total_damage_pct,
    no1.share as no1_share
from plots
left join counted using (crop_year, field, plot)
left join no1 using (crop_year, field, plot);
