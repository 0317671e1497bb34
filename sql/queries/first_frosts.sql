-- The first frost of each year from August on.
select min(happened_on) as first_on
from weather
where event = 'frost' and month(happened_on) >= 8
group by year(happened_on)
order by first_on;
