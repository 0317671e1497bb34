-- The rows that acts after one brought packed together, newest first; $tables names the tables.
select
    act_id,
    table_name,
    key_columns,
    content
from packed_rows
where act_id > $act_id and table_name in (select unnest($tables))
order by act_id desc;
