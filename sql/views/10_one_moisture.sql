-- One row: the moisture to which masses are brought for comparing, percent. Top of dry canola unless set.
create or replace view one_moisture as
select coalesce(max(cast(value as double)), 10.0) as one_moisture_pct
from settings
where name = 'one_moisture_pct';
