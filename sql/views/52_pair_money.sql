-- One row per pair whose net return is known on both sides: what its partial budget is made of, $/ac. Its net return is
-- priced_t_ac * best price + unpriced_dollars_ac; a bushel more on the standing side adds bushel_priced_t * best price
-- + bushel_unpriced_dollars.
-- 22.6796185 kg is a canola bushel of 50 lb.
create or replace view pair_returns as
with money as materialized (select * from plot_money)

select
    pairs.crop_year,
    pairs.pair,
    case
        when pairs.standing_field <> pairs.windrowed_field then pairs.standing_field || ' / ' || pairs.windrowed_field
        else pairs.standing_field
    end as field,
    pairs.standing_field,
    pairs.standing_plot,
    pairs.windrowed_field,
    pairs.windrowed_plot,
    (standing.dollars_per_tonne - windrowed.dollars_per_tonne)
    * (standing.yield_as_sold_bu_ac + windrowed.yield_as_sold_bu_ac) / 2 * 22.6796185 / 1000 as grade_dollars_ac,
    standing.revenue_dollars_ac - windrowed.revenue_dollars_ac as revenue_dollars_ac,
    standing.track_dollars_ac - windrowed.track_dollars_ac as track_dollars_ac,
    standing.yield_as_sold_bu_ac - windrowed.yield_as_sold_bu_ac as yield_difference_bu_ac,
    standing.priced_t_ac - windrowed.priced_t_ac as priced_t_ac,
    standing.unpriced_dollars_ac - windrowed.unpriced_dollars_ac as unpriced_dollars_ac,
    standing.bushel_priced_t,
    standing.bushel_unpriced_dollars
from pairs
inner join money as standing
    on standing.crop_year = pairs.crop_year
    and standing.field = pairs.standing_field
    and standing.plot = pairs.standing_plot
inner join money as windrowed
    on windrowed.crop_year = pairs.crop_year
    and windrowed.field = pairs.windrowed_field
    and windrowed.plot = pairs.windrowed_plot
where standing.net_return_dollars_ac is not null and windrowed.net_return_dollars_ac is not null;

-- One row per such pair and line of the partial budget: standing minus windrowed, $/ac. Revenue is split into yield, at
-- the mean price of the two sides, and grade, at their mean yield, so that the two add up.
create or replace view pair_money as
with returns as materialized (select * from pair_returns)

select crop_year, pair, field, 'yield' as line, 'revenue' as kind, revenue_dollars_ac - grade_dollars_ac as difference
from returns
union all
select crop_year, pair, field, 'grade', 'revenue', grade_dollars_ac from returns
union all
select crop_year, pair, field, 'wheel tracks', 'cost', track_dollars_ac from returns
union all
select
    returns.crop_year,
    returns.pair,
    returns.field,
    plot_costs.item,
    'cost',
    sum(
        case
            when plot_costs.field = returns.standing_field and plot_costs.plot = returns.standing_plot then 1
            else -1
        end
        * plot_costs.dollars_ac
    )
from returns
inner join plot_costs
    on plot_costs.crop_year = returns.crop_year
    and (
        (plot_costs.field = returns.standing_field and plot_costs.plot = returns.standing_plot)
        or (plot_costs.field = returns.windrowed_field and plot_costs.plot = returns.windrowed_plot)
    )
group by returns.crop_year, returns.pair, returns.field, plot_costs.item;
