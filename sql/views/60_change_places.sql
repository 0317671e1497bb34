-- One row a changed record: the crop year and the field it belongs to, null where it belongs to none or to the farm.
-- A pair can lie on two fields.
create or replace view change_places as
select
    act_id,
    table_name,
    row_key,
    before,
    after,
    coalesce(
        try_cast(row_key ->> '$.crop_year' as bigint), year(try_cast(row_key ->> '$.happened_on' as date))
    ) as crop_year,
    coalesce(row_key ->> '$.field', coalesce(after, before) ->> '$.standing_field') as field,
    coalesce(after, before) ->> '$.windrowed_field' as second_field
from changes;
