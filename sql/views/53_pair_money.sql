-- One row per pair in pair_returns and line of the partial budget: standing minus windrowed, $/ac. Revenue is split into
-- yield, at the mean price of the two sides, and grade, at their mean yield, so that the two add up.
create or replace view pair_money as
with returns as materialized (select * from pair_returns),

costs as (
    select
        pair_plots.crop_year,
        pair_plots.pair,
        plot_costs.item,
        sum(case pair_plots.side when 'standing' then plot_costs.dollars_ac else -plot_costs.dollars_ac end) as difference
    from pair_plots
    inner join plot_costs using (crop_year, field, plot)
    group by pair_plots.crop_year, pair_plots.pair, plot_costs.item
)

select crop_year, pair, field, 'yield' as line, 'revenue' as kind, revenue_dollars_ac - grade_dollars_ac as difference
from returns
union all
select crop_year, pair, field, 'grade', 'revenue', grade_dollars_ac from returns
union all
select crop_year, pair, field, 'wheel tracks', 'cost', track_dollars_ac from returns
union all
select returns.crop_year, returns.pair, returns.field, costs.item, 'cost', costs.difference
from returns
inner join costs using (crop_year, pair);
