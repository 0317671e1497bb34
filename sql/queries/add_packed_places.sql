-- The places that packed rows belong to, from the registered places.
insert into packed_places (act_id, table_name, crop_year, field, second_field, number)
select
    $act_id,
    $table_name,
    crop_year,
    field,
    second_field,
    number
from places;
