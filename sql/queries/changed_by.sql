-- Which acts wrote the records of a table that are kept one by one, newest first.
select
    act_id,
    row_key
from changes
where table_name = $table_name
order by act_id desc;
