-- One row per load: net clean kg, and the kg that its dry matter would be at one moisture. Null where the ticket
-- lacks what is needed. A yield monitor's load is scaled to what a certified scale says of its plot, strip or field where
-- it says anything; weight_kg stays as it was read off.
create or replace view load_mass as
with scaled as (
    select
        loads.*,
        coalesce(plot_scale.scale_factor, strip_scale.scale_factor, field_scale.scale_factor) is not null as is_scaled,
        coalesce(plot_scale.scale_factor, strip_scale.scale_factor, field_scale.scale_factor, 1) as scale_factor
    from loads
    left join plot_scale using (crop_year, field, plot)
    left join field_scale using (crop_year, field)
    left join strip_scale
        on strip_scale.crop_year = loads.crop_year and strip_scale.field = loads.field and strip_scale.plot = loads.plot
        and loads.weighed_by = 'yield monitor'
)

select
    scaled.*,
    weight_kg * scale_factor * (100 - dockage_pct) / 100 as net_clean_kg,
    weight_kg * scale_factor * (100 - dockage_pct) / 100 * (100 - moisture_pct) / (100 - one_moisture_pct)
        as one_moisture_kg
from scaled
cross join one_moisture;
