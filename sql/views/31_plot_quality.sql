-- One row per plot: samples summed (counts) or averaged (weights). A plot is in No. 1 when every ticket's grade is 1.
create or replace view plot_quality as
with counted as (
    select
        crop_year,
        field,
        plot,
        count(*) as samples,
        sum(seeds_crushed) filter (where green_seeds is not null) as seeds_crushed,
        sum(green_seeds) as green_seeds,
        avg(test_weight_kg_hl) as test_weight_kg_hl,
        avg(thousand_seed_g) as thousand_seed_g,
        avg(heated_pct) as heated_pct,
        avg(total_damage_pct) as total_damage_pct,
        max(grade) as lowest_grade,
        bool_and(grade = '1') as is_no1
    from samples
    group by crop_year, field, plot
)

select
    plots.crop_year,
    plots.field,
    plots.plot,
    coalesce(counted.samples, 0) as samples,
    counted.seeds_crushed::bigint as seeds_crushed,
    counted.green_seeds::bigint as green_seeds,
    100.0 * counted.green_seeds / counted.seeds_crushed as green_seed_pct,
    counted.test_weight_kg_hl,
    counted.thousand_seed_g,
    counted.heated_pct,
    counted.total_damage_pct,
    counted.lowest_grade,
    counted.is_no1
from plots
left join counted using (crop_year, field, plot);
