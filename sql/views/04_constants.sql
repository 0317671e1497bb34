-- One row: what the views compute with. Sources of the units are in analytics/trade/units.py, and a test holds that both
-- agree. Dry and tough: Off Grades of Grain and Grades of Screenings Order, C.R.C. c. 890, Schedules I and II;
-- consolidated to August 2025: up to which moisture canola is dry and tough, percent in tenths as written; above is damp.
create or replace view constants as
select
    'canola' as crop,
    22.6796185::double as kg_per_bushel,
    5.60425578097::double as g_m2_per_bu_ac,
    1.609344::double as km_per_mile,
    3.6::double as kmh_per_m_s,
    10.0::decimal(4, 1) as max_dry_pct,
    12.5::decimal(4, 1) as max_tough_pct;
