-- Every change of a setting, newest first.
select
    acts.happened_at,
    acts.done_by,
    acts.why,
    changes.before,
    changes.after
from changes
inner join acts using (act_id)
where changes.table_name = 'settings'
order by changes.act_id desc;
