-- One row per cost item: the rate in force, the farm's own where it typed one, else the default.
create or replace view cost_rates as
select
    item,
    case when own.item is null then cost_defaults.low else coalesce(own.low, own.middle) end as low,
    coalesce(own.middle, cost_defaults.middle) as middle,
    case when own.item is null then cost_defaults.high else coalesce(own.high, own.middle) end as high,
    cost_defaults.unit,
    case when own.item is null then cost_defaults.region else 'this farm' end as region,
    case when own.item is null then cost_defaults.year else own.year end as year,
    case when own.item is null then cost_defaults.basis else 'own rate' end as basis,
    coalesce(own.source, cost_defaults.source) as source,
    own.item is not null as is_own
from cost_defaults
left join cost_assumptions as own using (item);
