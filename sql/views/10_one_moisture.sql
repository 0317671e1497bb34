-- One row: the moisture to which masses are brought for comparing, percent. Top of dry canola unless set.
create or replace view one_moisture as
select coalesce(max(cast(settings.value as double)), max(constants.max_dry_pct::double)) as one_moisture_pct
from constants
left join settings on settings.name = 'one_moisture_pct';
