-- One row per field and crop year whose every load was weighed by the yield monitor and that has a certified total:
-- certified / monitor, by which the monitor's masses are multiplied. Strips that were cut out of a monitor's points are
-- not all of a field; they have their own scale, in strip_scale.
create or replace view field_scale as
select
    loads.crop_year,
    loads.field,
    field_totals.certified_kg / sum(loads.weight_kg) as scale_factor
from loads
inner join field_totals using (crop_year, field)
anti join monitor_strips using (crop_year, field)
group by loads.crop_year, loads.field, field_totals.certified_kg
having
    count(*) = count(*) filter (where loads.weighed_by = 'yield monitor')
    and count(*) = count(loads.weight_kg);
