-- One row per plot and cost item, $/ac: from the field work on record, else from the rate in force. A plot needs
-- combining; a windrowed one windrowing; one with a pre-harvest product the product and its application; other work
-- counts when it is on record. Where the farm typed a rate by the hour and the hours are on record, they count in the place
-- of the rate by the acre, never beside it; rate_item names the rate that filled in. Freight and drying go by what was weighed. cost_from is 'records' or 'defaults'; a rate
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
                then 'earlier treatment'
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

worked as (
    select
        crop_year,
        field,
        plot,
        unnest(['combining', 'windrowing']) as item,
        unnest([combining_hours, windrowing_hours]) as hours
    from plot_machines
),

amounts as (
    select
        needed.*,
        recorded.recorded_dollars_ac,
        case when hourly.middle > 0 and worked.hours is not null then hourly.item else needed.item end as rate_item,
        case
            when hourly.middle > 0 and worked.hours is not null then hourly.middle * worked.hours / plots.acres
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
    left join cost_rates as hourly on hourly.item = needed.item || ' by the hour'
    left join worked on
        worked.crop_year = needed.crop_year
        and worked.field = needed.field
        and worked.plot = needed.plot
        and worked.item = needed.item
)

select
    crop_year,
    field,
    plot,
    item,
    rate_item,
    coalesce(recorded_dollars_ac, default_dollars_ac) as dollars_ac,
    case when recorded_dollars_ac is null and item in ('drying', 'freight') then default_dollars_ac else 0 end
        as by_weight_dollars_ac,
    case
        when recorded_dollars_ac is not null then 'records'
        when default_dollars_ac <> 0 then 'defaults'
    end as cost_from
from amounts;
