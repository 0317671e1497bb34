-- One row per load: net clean kg, and the kg that its dry matter would be at one moisture. Null where the ticket
-- lacks what is needed. A yield monitor's load is scaled to the certified total of its field where there is one;
-- weight_kg stays as it was read off.
create or replace view load_mass as
with scaled as (
    select
        loads.*,
        field_scale.scale_factor is not null as is_scaled,
        coalesce(field_scale.scale_factor, 1) as scale_factor
    from loads
    left join field_scale using (crop_year, field)
)

select
    scaled.*,
    weight_kg * scale_factor * (100 - dockage_pct) / 100 as net_clean_kg,
    weight_kg * scale_factor * (100 - dockage_pct) / 100 * (100 - moisture_pct) / (100 - one_moisture_pct)
        as one_moisture_kg
from scaled
cross join one_moisture;
