-- How many records of each table some acts changed.
select
    act_id,
    table_name,
    count(*) as number
from changes
where act_id in (select unnest($numbers))
group by all
order by table_name;
