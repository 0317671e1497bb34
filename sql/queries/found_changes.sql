-- What an act changed of what is looked for, of the changes that are kept one by one: some of it.
select
    table_name,
    row_key,
    before,
    after
from change_places
where
    act_id = $act_id
    and ($crop_year::bigint is null or crop_year = $crop_year)
    and ($field::varchar is null or field = $field or second_field = $field)
    and ($table::varchar is null or table_name = $table)
order by table_name, cast(row_key as varchar)
limit $shown offset $skipped;
