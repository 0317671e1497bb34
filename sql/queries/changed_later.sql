-- Records that were changed after an act, and by which act last.
select
    changes.table_name as table,
    cast(changes.row_key as varchar) as row_key,
    arg_max('act ' || changes.act_id || ' by ' || acts.done_by, changes.act_id) as changed_by
from changes
inner join acts using (act_id)
where changes.act_id > $act_id
group by all;
