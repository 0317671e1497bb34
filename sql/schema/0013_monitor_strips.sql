-- What is kept of a yield monitor's points, which are not kept themselves: per strip a summary, what the cleaning took out
-- step by step, and a thinned picture.
create table monitor_strips (
    crop_year bigint not null,
    field varchar not null,
    plot varchar not null,
    file_name varchar not null,
    fingerprint varchar not null,
    points bigint not null,
    kept bigint not null,
    delay_s double not null check (isfinite(delay_s)),
    cut_width_m double not null check (isfinite(cut_width_m) and cut_width_m > 0),
    covered double not null check (isfinite(covered)),
    monitor_kg double not null check (isfinite(monitor_kg) and monitor_kg > 0),
    field_monitor_kg double not null check (isfinite(field_monitor_kg) and field_monitor_kg > 0),
    certified_kg double check (isfinite(certified_kg) and certified_kg > 0),
    combine_hours double check (isfinite(combine_hours)),
    thresholds varchar not null,
    outline varchar not null
);

create table monitor_removals (
    crop_year bigint not null,
    field varchar not null,
    plot varchar not null,
    step varchar not null,
    points bigint not null
);

create table monitor_cells (
    crop_year bigint not null,
    field varchar not null,
    plot varchar not null,
    cell bigint not null,
    east_m double not null check (isfinite(east_m)),
    north_m double not null check (isfinite(north_m)),
    kg_ha double check (isfinite(kg_ha)),
    removed_by varchar
);
