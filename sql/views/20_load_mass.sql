-- One row per load: net clean kg, and the kg that its dry matter would be at one moisture. Null where the ticket
-- lacks what is needed.
create or replace view load_mass as
select
    loads.*,
    weight_kg * (100 - dockage_pct) / 100 as net_clean_kg,
    weight_kg * (100 - dockage_pct) / 100 * (100 - moisture_pct) / (100 - one_moisture_pct) as one_moisture_kg
from loads
cross join one_moisture;
