-- One row per plot: loads summed to a yield on both bases. One load that lacks a value leaves the plot's yield on
-- that basis null, and missing_* names the tickets. is_scaled says that a yield monitor's loads were
-- multiplied by scale_factor to agree with the field's certified total; weight_kg is as read.
create or replace view plot_yield as
with weighed as (
    select
        crop_year,
        field,
        plot,
        count(*) as loads,
        string_agg(distinct weighed_by, ' and ' order by weighed_by) as weighed_by,
        bool_or(is_scaled) as is_scaled,
        max(scale_factor) as scale_factor,
        case when count(*) = count(weight_kg) then sum(weight_kg) end as weight_kg,
        case when count(*) = count(net_clean_kg) then sum(net_clean_kg) end as net_clean_kg,
        case when count(*) = count(one_moisture_kg) then sum(one_moisture_kg) end as one_moisture_kg,
        case when count(*) = count(net_clean_kg) then sum(weight_kg * dockage_pct) / sum(weight_kg) end
            as dockage_pct,
        case when count(*) = count(one_moisture_kg) then sum(net_clean_kg * moisture_pct) / sum(net_clean_kg) end
            as moisture_pct,
        string_agg(ticket, ', ' order by ticket) filter (where weight_kg is null) as no_weight,
        string_agg(ticket, ', ' order by ticket) filter (where dockage_pct is null) as no_dockage,
        string_agg(ticket, ', ' order by ticket) filter (where moisture_pct is null) as no_moisture
    from load_mass
    group by crop_year, field, plot
)

select
    plots.crop_year,
    plots.field,
    plots.plot,
    plots.acres,
    coalesce(weighed.loads, 0) as loads,
    weighed.weighed_by,
    coalesce(weighed.is_scaled, false) as is_scaled,
    weighed.scale_factor,
    weighed.weight_kg,
    weighed.net_clean_kg,
    weighed.one_moisture_kg,
    weighed.dockage_pct,
    weighed.moisture_pct,
    weighed.one_moisture_kg / constants.kg_per_bushel / plots.acres as yield_bu_ac,
    weighed.net_clean_kg / constants.kg_per_bushel / plots.acres as yield_as_sold_bu_ac,
    case when weighed.loads is null then 'a ticket' end as missing_loads,
    case when plots.acres is null then 'the acres' end as missing_acres,
    'weight on ticket ' || weighed.no_weight as missing_weight,
    'dockage on ticket ' || weighed.no_dockage as missing_dockage,
    'moisture on ticket ' || weighed.no_moisture as missing_moisture
from plots
left join weighed using (crop_year, field, plot)
cross join constants;
