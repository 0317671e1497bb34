-- How many of the changes of an act that are kept one by one a search finds.
select count(*) as number
from change_places
where
    act_id = $act_id
    and ($crop_year::bigint is null or crop_year = $crop_year)
    and ($field::varchar is null or field = $field or second_field = $field)
    and ($table::varchar is null or table_name = $table);
