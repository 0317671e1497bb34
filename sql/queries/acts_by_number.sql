-- Some acts, newest first.
select
    act_id,
    happened_at,
    done_by,
    source,
    why
from acts
where act_id in (select unnest($numbers))
order by act_id desc;
