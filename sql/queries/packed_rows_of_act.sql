-- The rows that an act brought packed together, by table.
select
    table_name,
    key_columns,
    content
from packed_rows
where act_id = $act_id
order by table_name;
