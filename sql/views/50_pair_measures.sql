-- One row per pair and measure: standing, windrowed, and standing minus windrowed; null and what is missing otherwise.
-- `field` is for reading: the field, or both fields of a pair of neighbours; statistics forms places from both names. A
-- planned pair is left to the view planned_pairs until something of it is harvested: it is not missing anything.
-- `barred` says why a pair is in no answer though both sides are known: a monitor that is 3 % off is off by more than a
-- bushel, and what the farm asks of a pair was fixed before looking. `not_known` names what it asks and nobody can tell of a
-- pair that counts all the same, as the farm decided or left it.
create or replace view pair_measures as
with plot_values as materialized (  -- read twice below, worked out once
    select crop_year, field, plot, measure, value, missing from plot_measures
),

measured as (
    select
        pair_plots.*,
        measures.measure,
        plot_values.value,
        case
            when pair_plots.plot is null then 'the ' || pair_plots.side || ' plot'
            when plot_values.value is null
                then coalesce(plot_values.missing, 'the plot itself')
                || ' for ' || pair_plots.field || ', ' || pair_plots.plot || ' (' || pair_plots.side || ')'
        end as missing
    from pair_plots
    cross join (select distinct measure from plot_values) as measures
    left join plot_values using (crop_year, field, plot, measure)
),

sides as materialized (  -- read twice below
    select
        crop_year,
        pair,
        pair_field as field,
        measure,
        max(field) filter (where side = 'standing') as standing_field,
        max(field) filter (where side = 'windrowed') as windrowed_field,
        max(value) filter (where side = 'standing') as standing,
        max(value) filter (where side = 'windrowed') as windrowed,
        string_agg(missing, ' and ' order by side) as missing
    from measured
    group by crop_year, pair, pair_field, measure
),

asked as (
    select
        sides.crop_year,
        sides.pair,
        sides.measure,
        string_agg(requirement, ', ' order by requirement) filter (where not is_met) as missed,
        string_agg(requirement, ', ' order by requirement) filter (where is_met is null) as not_known
    from sides
    inner join pair_requirements using (crop_year, pair)
    where pair_requirements.measures is null or list_contains(pair_requirements.measures, sides.measure)
    group by sides.crop_year, sides.pair, sides.measure
),

unknown as (
    select coalesce(max(value), 'counts') = 'left out' as is_left_out from settings where name = 'requirement_not_known'
)

select
    pairs.crop_year,
    pairs.pair,
    sides.field,
    sides.standing_field,
    sides.windrowed_field,
    pairs.layout,
    pair_allocations.allocation,
    sides.measure,
    sides.standing,
    sides.windrowed,
    sides.standing - sides.windrowed as difference,
    sides.missing,
    nullif(
        concat_ws(
            '; ',
            case
                when unscaled.pair is not null and sides.measure in ('yield', 'yield_as_sold', 'net_return')
                    then 'weighed by a yield monitor, unscaled'
            end,
            'asked for beforehand and not so: ' || asked.missed,
            case when unknown.is_left_out then 'asked for beforehand and not known: ' || asked.not_known end
        ),
        ''
    ) as barred,
    case when not unknown.is_left_out then asked.not_known end as not_known
from pairs
inner join pair_allocations using (crop_year, pair)
anti join planned_pairs using (crop_year, pair)
inner join sides using (crop_year, pair)
left join (
    select distinct pair_plots.crop_year, pair_plots.pair
    from pair_plots
    inner join plot_yield using (crop_year, field, plot)
    where contains(plot_yield.weighed_by, 'yield monitor') and not plot_yield.is_scaled
) as unscaled using (crop_year, pair)
left join asked on asked.crop_year = sides.crop_year and asked.pair = sides.pair and asked.measure = sides.measure
cross join unknown;
