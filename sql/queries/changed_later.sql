-- Records that were changed after an act, kept one by one, and by which act last.
select
    table_name,
    cast(row_key as varchar) as row_key,
    max(act_id) as later_act
from changes
where act_id > $act_id
group by all;
