-- One row per plot and cost item, $/ac: from the field work on record, else from the rate in force. A plot needs
-- combining; a windrowed one windrowing; one with a pre-harvest product the product and its application; other work
-- counts when it is on record. Freight and drying go by what was weighed. cost_from is 'records' or 'defaults'; a rate
-- of 0 adds nothing and is not told as a cost. A spraying more than 14 days before the product (our choice, no source) is
-- an earlier one and not its application. by_weight_dollars_ac is what grows with every bushel: freight and drying by
-- their rates; what stands on record by the acre does not.
create or replace view plot_costs as
with named as (
    select
        operations.crop_year,
        operations.field,
        operations.plot,
        operations.dollars_per_acre,
        case
            when operation_items.item = 'application' and operations.done_on < plots.preharvest_on - 14
                then 'earlier spraying'
            else coalesce(operation_items.item, lower(trim(operations.operation)))
        end as item
    from operations
    inner join plots using (crop_year, field, plot)
    left join operation_items on operation_items.operation = lower(trim(operations.operation))
),

recorded as (
    select
        crop_year,
        field,
        plot,
        item,
        case when count(*) = count(dollars_per_acre) then sum(dollars_per_acre) end as recorded_dollars_ac
    from named
    group by all
),

needed as (
    select crop_year, field, plot, item from recorded
    union
    select crop_year, field, plot, 'combining' from plots
    union
    select crop_year, field, plot, 'windrowing' from plots where method = 'windrowed'
    union
    select crop_year, field, plot, unnest(['pre-harvest product', 'application'])
    from plots where preharvest_on is not null or preharvest_product is not null
    union
    select crop_year, field, plot, unnest(['drying', 'freight']) from plots
),

by_weight as (
    select
        crop_year,
        field,
        plot,
        case when count(*) = count(weight_kg) then sum(weight_kg) / 1000 end as delivered_t,
        case
            when count(*) = count(net_clean_kg) and count(*) = count(moisture_pct)
                then sum(net_clean_kg / 1000 * greatest(moisture_pct - constants.max_dry_pct, 0))
        end as tonne_points
    from load_mass
    cross join constants
    group by crop_year, field, plot
),

amounts as (
    select
        needed.*,
        recorded.recorded_dollars_ac,
        case
            when cost_rates.middle = 0 then 0
            when needed.item = 'drying' then cost_rates.middle * by_weight.tonne_points / plots.acres
            when needed.item = 'freight' then cost_rates.middle * by_weight.delivered_t / plots.acres
            else cost_rates.middle
        end as default_dollars_ac
    from needed
    inner join plots using (crop_year, field, plot)
    left join recorded using (crop_year, field, plot, item)
    left join by_weight using (crop_year, field, plot)
    left join cost_rates on cost_rates.item = needed.item
)

select
    crop_year,
    field,
    plot,
    item,
    coalesce(recorded_dollars_ac, default_dollars_ac) as dollars_ac,
    case when recorded_dollars_ac is null and item in ('drying', 'freight') then default_dollars_ac else 0 end
        as by_weight_dollars_ac,
    case
        when recorded_dollars_ac is not null then 'records'
        when default_dollars_ac <> 0 then 'defaults'
    end as cost_from
from amounts;

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
        string_agg(item, ', ' order by item) filter (where cost_from = 'defaults') as default_items,
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
        22.6796185 / 1000 * (1 - sold.track_pct / 100) as bushel_priced_t,
        costs.* exclude (crop_year, field, plot)
    from sold
    left join costs using (crop_year, field, plot)
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
        when dollars_per_tonne is null then 'a price for canola grade ' || unpriced_grades || ' in ' || crop_year
        when cost_dollars_ac is null then 'the cost of ' || unknown_items
    end as missing,
    case
        when grades is null then 'samples.grade'
        when dollars_per_tonne is null then 'prices'
        when is_unknown_by_weight then 'loads'
        else 'operations'
    end as missing_in
from returns;
