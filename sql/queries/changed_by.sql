-- Who wrote the records of a table, newest first.
select
    acts.done_by,
    changes.row_key
from changes
inner join acts using (act_id)
where changes.table_name = $table_name
order by changes.act_id desc;
