-- The history of one act, from the registered changed_rows.
insert into changes (act_id, table_name, row_key, before, after)
select
    $act_id,
    table_name,
    row_key,
    before,
    after
from changed_rows;
