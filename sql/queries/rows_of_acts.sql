-- How many records of each table some acts changed.
select
    act_id,
    table_name,
    cast(sum(number) as bigint) as number
from act_places
where act_id in (select unnest($numbers))
group by all
order by table_name;
