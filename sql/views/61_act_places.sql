-- Which places each act changed records of, and how many: rows kept one by one, and those packed together.
create or replace view act_places as
select
    act_id,
    table_name,
    crop_year,
    field,
    second_field,
    1 as number
from change_places
union all
select
    act_id,
    table_name,
    crop_year,
    field,
    second_field,
    number
from packed_places;
