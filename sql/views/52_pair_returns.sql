-- One row per pair whose net return is known on both sides: what its partial budget is made of, $/ac. Its net return is
-- priced_t_ac * best price + unpriced_dollars_ac; a bushel more on the standing side adds bushel_priced_t * best price
-- + bushel_unpriced_dollars.
create or replace view pair_returns as
with sides as materialized (
    select
        pair_plots.crop_year,
        pair_plots.pair,
        pair_plots.pair_field,
        pair_plots.side,
        plot_money.* exclude (crop_year, field, plot)
    from pair_plots
    inner join plot_money using (crop_year, field, plot)
    where plot_money.net_return_dollars_ac is not null
)

select
    standing.crop_year,
    standing.pair,
    standing.pair_field as field,
    (standing.dollars_per_tonne - windrowed.dollars_per_tonne)
    * (standing.yield_as_sold_bu_ac + windrowed.yield_as_sold_bu_ac) / 2 * constants.kg_per_bushel / 1000
        as grade_dollars_ac,
    standing.revenue_dollars_ac - windrowed.revenue_dollars_ac as revenue_dollars_ac,
    standing.track_dollars_ac - windrowed.track_dollars_ac as track_dollars_ac,
    standing.yield_as_sold_bu_ac - windrowed.yield_as_sold_bu_ac as yield_difference_bu_ac,
    standing.priced_t_ac - windrowed.priced_t_ac as priced_t_ac,
    standing.unpriced_dollars_ac - windrowed.unpriced_dollars_ac as unpriced_dollars_ac,
    standing.bushel_priced_t,
    standing.bushel_unpriced_dollars
from sides as standing
inner join sides as windrowed using (crop_year, pair)
cross join constants
where standing.side = 'standing' and windrowed.side = 'windrowed';
