-- One row per plot: what it brought and cost per acre, $/ac. Sold at the price of its grades, by their shares; wheel
-- tracks of a product cost their percent of that. Null where unknown; `missing` says what would help,
-- missing_in where it stands once the yield is known.
-- For other prices, the net return is priced_t_ac * best price + unpriced_dollars_ac, and one bushel more of the same
-- crop would bring bushel_priced_t * best price + bushel_unpriced_dollars. The best price is that of the best grade
-- priced in the crop year; how far the plot's own grades lie below it stays as it was.
create or replace view plot_money as
with costs as (
    select
        crop_year,
        field,
        plot,
        case when count(*) = count(dollars_ac) then sum(dollars_ac) end as cost_dollars_ac,
        sum(by_weight_dollars_ac) as by_weight_dollars_ac,
        bool_or(cost_from = 'records') as has_records,
        string_agg(rate_item, ', ' order by rate_item) filter (where cost_from = 'defaults') as default_items,
        string_agg(item, ', ' order by item) filter (where dollars_ac is null) as unknown_items,
        min(item) filter (where dollars_ac is null) in ('drying', 'freight') as is_unknown_by_weight
    from plot_costs
    group by crop_year, field, plot
),

sold as (
    select
        plots.crop_year,
        plots.field,
        plots.plot,
        plot_prices.grades,
        plot_prices.dollars_per_tonne,
        plot_prices.below_best_dollars_per_tonne,
        plot_prices.unpriced_grades,
        plot_yield.yield_as_sold_bu_ac,
        plot_yield.net_clean_kg / 1000 / plots.acres as sold_t_ac,
        case when plots.preharvest_on is null and plots.preharvest_product is null then 0 else tracks.middle end
            as track_pct,
        coalesce(
            plot_yield.missing_loads,
            plot_yield.missing_acres,
            plot_yield.missing_weight,
            plot_yield.missing_dockage
        ) as missing_yield
    from plots
    left join plot_yield using (crop_year, field, plot)
    left join plot_prices using (crop_year, field, plot)
    left join cost_rates as tracks on tracks.item = 'wheel tracks'
),

returns as (
    select
        sold.*,
        sold.sold_t_ac * sold.dollars_per_tonne as revenue_dollars_ac,
        sold.sold_t_ac * sold.dollars_per_tonne * sold.track_pct / 100 as track_dollars_ac,
        sold.sold_t_ac * (1 - sold.track_pct / 100) as priced_t_ac,
        constants.kg_per_bushel / 1000 * (1 - sold.track_pct / 100) as bushel_priced_t,
        costs.* exclude (crop_year, field, plot),
        constants.crop
    from sold
    left join costs using (crop_year, field, plot)
    cross join constants
)

select
    crop_year,
    field,
    plot,
    grades,
    dollars_per_tonne,
    yield_as_sold_bu_ac,
    revenue_dollars_ac,
    track_dollars_ac,
    cost_dollars_ac + track_dollars_ac as cost_dollars_ac,
    case
        when default_items is null and track_pct = 0 then 'records'
        when has_records then 'records and defaults'
        else 'defaults'
    end as cost_from,
    nullif(concat_ws(', ', default_items, case when track_pct > 0 then 'wheel tracks' end), '') as default_items,
    revenue_dollars_ac - track_dollars_ac - cost_dollars_ac as net_return_dollars_ac,
    priced_t_ac,
    -priced_t_ac * below_best_dollars_per_tonne - cost_dollars_ac as unpriced_dollars_ac,
    bushel_priced_t,
    -bushel_priced_t * below_best_dollars_per_tonne
    - coalesce(by_weight_dollars_ac / nullif(yield_as_sold_bu_ac, 0), 0) as bushel_unpriced_dollars,
    case
        when yield_as_sold_bu_ac is null then missing_yield
        when grades is null then 'a grade'
        when dollars_per_tonne is null then 'a price for ' || crop || ' grade ' || unpriced_grades || ' in ' || crop_year
        when cost_dollars_ac is null then 'the cost of ' || unknown_items
    end as missing,
    case
        when grades is null then 'samples.grade'
        when dollars_per_tonne is null then 'prices'
        when is_unknown_by_weight then 'loads'
        else 'operations'
    end as missing_in
from returns;
