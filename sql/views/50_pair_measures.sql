-- One row per pair and measure: standing, windrowed, and standing minus windrowed; null and what is missing otherwise.
-- `field` names the field-year: the field, or both fields of a pair of neighbours. A planned pair is left to the view
-- planned_pairs until something of it is harvested: it is not missing anything.
create or replace view pair_measures as
with named as (
    select
        *,
        case
            when standing_field <> windrowed_field then standing_field || ' / ' || windrowed_field
            else coalesce(standing_field, windrowed_field)
        end as field
    from pairs
    anti join planned_pairs using (crop_year, pair)
),

sides as (
    select
        named.*,
        measures.measure,
        standing.value as standing,
        windrowed.value as windrowed,
        case
            when named.standing_plot is null then 'the standing plot'
            when standing.value is null
                then named.standing_field || ' ' || named.standing_plot || ' (standing): '
                || coalesce(standing.missing, 'no such plot')
        end as missing_standing,
        case
            when named.windrowed_plot is null then 'the windrowed plot'
            when windrowed.value is null
                then named.windrowed_field || ' ' || named.windrowed_plot || ' (windrowed): '
                || coalesce(windrowed.missing, 'no such plot')
        end as missing_windrowed
    from named
    cross join (select distinct measure from plot_measures) as measures
    left join plot_measures as standing
        on standing.crop_year = named.crop_year
        and standing.field = named.standing_field
        and standing.plot = named.standing_plot
        and standing.measure = measures.measure
    left join plot_measures as windrowed
        on windrowed.crop_year = named.crop_year
        and windrowed.field = named.windrowed_field
        and windrowed.plot = named.windrowed_plot
        and windrowed.measure = measures.measure
)

select
    crop_year,
    pair,
    field,
    layout,
    allocation,
    measure,
    standing,
    windrowed,
    standing - windrowed as difference,
    nullif(concat_ws('; ', missing_standing, missing_windrowed), '') as missing
from sides;
