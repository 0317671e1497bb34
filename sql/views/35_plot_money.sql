-- One row per plot and cost item, $/ac: from the field work on record, else from the rate in force. A plot needs
-- combining; a windrowed one windrowing; one with a pre-harvest product the product and its application; other work
-- counts when it is on record. Freight and drying go by what was weighed. cost_from is 'records' or 'defaults'; a rate
-- of 0 adds nothing and is not told as a cost.
create or replace view plot_costs as
with recorded as (
    select
        operations.crop_year,
        operations.field,
        operations.plot,
        coalesce(operation_items.item, lower(trim(operations.operation))) as item,
        case when count(*) = count(operations.dollars_per_acre) then sum(operations.dollars_per_acre) end
            as recorded_dollars_ac
    from operations
    left join operation_items on operation_items.operation = lower(trim(operations.operation))
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
    case
        when recorded_dollars_ac is not null then 'records'
        when default_dollars_ac <> 0 then 'defaults'
    end as cost_from
from amounts;

-- One row per plot: what it brought and cost per acre. Sold at the price of the lowest grade that any of its tickets
-- got; wheel tracks of a product cost their percent of that. $/ac. Null where unknown; `missing` says what would help,
-- missing_in where it stands once the yield is known.
create or replace view plot_money as
with costs as (
    select
        crop_year,
        field,
        plot,
        case when count(*) = count(dollars_ac) then sum(dollars_ac) end as cost_dollars_ac,
        sum(dollars_ac) filter (where item in ('drying', 'freight')) as by_weight_dollars_ac,
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
        plot_quality.lowest_grade,
        prices.dollars_per_tonne,
        plot_yield.yield_as_sold_bu_ac,
        plot_yield.net_clean_kg / 1000 * prices.dollars_per_tonne / plots.acres as revenue_dollars_ac,
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
    left join plot_quality using (crop_year, field, plot)
    left join prices
        on prices.crop_year = plots.crop_year
        and lower(prices.crop) = 'canola'
        and prices.grade = plot_quality.lowest_grade
    left join cost_rates as tracks on tracks.item = 'wheel tracks'
)

select
    sold.crop_year,
    sold.field,
    sold.plot,
    sold.lowest_grade,
    sold.dollars_per_tonne,
    sold.yield_as_sold_bu_ac,
    sold.revenue_dollars_ac,
    sold.revenue_dollars_ac * sold.track_pct / 100 as track_dollars_ac,
    costs.by_weight_dollars_ac,
    costs.cost_dollars_ac + sold.revenue_dollars_ac * sold.track_pct / 100 as cost_dollars_ac,
    case
        when costs.default_items is null and sold.track_pct = 0 then 'records'
        when costs.has_records then 'records and defaults'
        else 'defaults'
    end as cost_from,
    nullif(concat_ws(', ', costs.default_items, case when sold.track_pct > 0 then 'wheel tracks' end), '')
        as default_items,
    sold.revenue_dollars_ac * (1 - sold.track_pct / 100) - costs.cost_dollars_ac as net_return_dollars_ac,
    case
        when sold.yield_as_sold_bu_ac is null then sold.missing_yield
        when sold.lowest_grade is null then 'a grade'
        when sold.dollars_per_tonne is null
            then 'a price for canola grade ' || sold.lowest_grade || ' in ' || sold.crop_year
        when costs.cost_dollars_ac is null then 'the cost of ' || costs.unknown_items
    end as missing,
    case
        when sold.lowest_grade is null then 'samples.grade'
        when sold.dollars_per_tonne is null then 'prices'
        when costs.is_unknown_by_weight then 'loads'
        else 'operations'
    end as missing_in
from sold
left join costs using (crop_year, field, plot);
