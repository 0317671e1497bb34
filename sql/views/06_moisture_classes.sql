-- One row: up to which moisture canola is dry and tough; above is damp. Percent, read to tenths, as the limits are
-- written.
create or replace view moisture_classes as
select
    'canola' as crop,
    10.0::decimal(4, 1) as max_dry_pct,
    12.5::decimal(4, 1) as max_tough_pct,
    'Off Grades of Grain and Grades of Screenings Order, C.R.C. c. 890, Schedules I and II; consolidated to August 2025'
        as source;
