-- The key of the record that was saved last from a screen.
select changes.row_key
from changes
inner join acts using (act_id)
where acts.source = 'screen'
order by changes.act_id desc
limit 1;
