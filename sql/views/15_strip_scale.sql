-- One row per strip cut out of a yield monitor's points that a certified scale stands behind: certified / all that the
-- monitor logged on the same ground, which is the strip where it has a ticket of its own, and else the field.
create or replace view strip_scale as
select
    monitor_strips.crop_year,
    monitor_strips.field,
    monitor_strips.plot,
    coalesce(
        monitor_strips.certified_kg / monitor_strips.monitor_kg,
        field_totals.certified_kg / monitor_strips.field_monitor_kg
    ) as scale_factor
from monitor_strips
left join field_totals using (crop_year, field)
where coalesce(monitor_strips.certified_kg, field_totals.certified_kg) is not null;
