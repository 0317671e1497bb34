-- The rows of one share file as text (given), typed, with the first column whose cell is not allowed in `fault`.
with typed as (
    select
        row,
        farm,
        place,
        kind,
        allocation,
        early_cut,
        shatter_tolerant,
        preharvest_product,
        same_variety,
        measure,
        shared_at,
        program,
        share_version,
        case when regexp_full_match(crop_year, '[0-9]{4}') then try_cast(crop_year as bigint) end as crop_year,
        case when regexp_full_match(pair, '[0-9]{1,5}') then try_cast(pair as bigint) end as pair,
        case when regexp_full_match(standing, $number) then try_cast(standing as double) end as standing,
        case when regexp_full_match(windrowed, $number) then try_cast(windrowed as double) end as windrowed,
        count(*) over (partition by crop_year, measure, pair) as times
    from given
)

select
    row,
    farm,
    crop_year,
    place,
    pair,
    kind,
    allocation,
    early_cut,
    shatter_tolerant,
    preharvest_product,
    same_variety,
    measure,
    standing,
    windrowed,
    shared_at,
    case
        when share_version is distinct from $version then 'share_version'
        when not coalesce(regexp_full_match(program, $program), false) then 'program'
        when not coalesce(regexp_full_match(shared_at, $moment), false) then 'shared_at'
        when coalesce(try_cast(shared_at as timestamp) > $latest, true) then 'shared_at'
        when not coalesce(regexp_full_match(farm, $farm), false) then 'farm'
        when farm is distinct from first_value(farm) over (order by row) then 'farm'
        when shared_at is distinct from first_value(shared_at) over (order by row) then 'shared_at'
        when not coalesce(crop_year between $first_year and $last_year, false) then 'crop_year'
        when not coalesce(regexp_full_match(place, $place), false) then 'place'
        when not coalesce(pair between 1 and $most_pairs, false) or times > 1 then 'pair'
        when not coalesce(list_contains($kinds, kind), false) then 'kind'
        when not coalesce(list_contains($allocations, allocation), false) then 'allocation'
        when coalesce(early_cut, 'yes') not in ('yes', 'no') then 'early_cut'
        when coalesce(shatter_tolerant, 'yes') not in ('yes', 'no') then 'shatter_tolerant'
        when coalesce(preharvest_product, 'yes') not in ('yes', 'no') then 'preharvest_product'
        when coalesce(same_variety, 'yes') not in ('yes', 'no') then 'same_variety'
        when not coalesce(list_contains($measures, measure), false) then 'measure'
        when not coalesce(abs(standing) <= $largest, false) then 'standing'
        when not coalesce(abs(windrowed) <= $largest, false) then 'windrowed'
    end as fault
from typed
order by row;
