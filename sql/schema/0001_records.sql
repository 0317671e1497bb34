-- The records of a farm, a table a paper; settings; and every change ever made.
-- Keys are the trade's own names, so that a row reads as on the ticket. No foreign keys or unique indexes: DuckDB
-- would then refuse to change a referenced row. Writing goes through one function and sql/checks finds what broke.
create table fields (
    field varchar not null,
    acres double check (isfinite(acres)),
    soil varchar,
    topography varchar,
    notes varchar
);

create table plantings (
    crop_year bigint not null,
    field varchar not null,
    crop varchar,
    variety varchar,
    shatter_tolerant boolean,
    herbicide_system varchar,
    seeded_on date,
    weed_pressure varchar,
    stand varchar,
    notes varchar
);

create table plots (
    crop_year bigint not null,
    field varchar not null,
    plot varchar not null,
    method varchar not null check (method in ('standing', 'windrowed')),
    acres double check (isfinite(acres)),
    seed_colour_change_pct double check (isfinite(seed_colour_change_pct)),
    windrowed_on date,
    preharvest_on date,
    preharvest_product varchar,
    preharvest_interval_days double check (isfinite(preharvest_interval_days)),
    harvested_on date,
    notes varchar
);

create table pairs (
    crop_year bigint not null,
    pair varchar not null,
    standing_field varchar,
    standing_plot varchar,
    windrowed_field varchar,
    windrowed_plot varchar,
    layout varchar not null,
    allocation varchar,
    notes varchar
);

create table loads (
    crop_year bigint not null,
    field varchar not null,
    plot varchar not null,
    ticket varchar not null,
    delivered_on date,
    weight_kg double check (isfinite(weight_kg)),
    moisture_pct double check (isfinite(moisture_pct)),
    dockage_pct double check (isfinite(dockage_pct)),
    weighed_by varchar
);

create table samples (
    crop_year bigint not null,
    field varchar not null,
    plot varchar not null,
    sample varchar not null,
    taken_on date,
    graded_by varchar,
    grade varchar,
    seeds_crushed bigint,
    green_seeds bigint,
    heated_pct double check (isfinite(heated_pct)),
    total_damage_pct double check (isfinite(total_damage_pct)),
    admixture_pct double check (isfinite(admixture_pct)),
    test_weight_kg_hl double check (isfinite(test_weight_kg_hl)),
    thousand_seed_g double check (isfinite(thousand_seed_g))
);

create table loss_checks (
    crop_year bigint not null,
    field varchar not null,
    plot varchar not null,
    checked_on date not null,
    place varchar not null,
    spot varchar not null,
    seeds bigint,
    grams double check (isfinite(grams)),
    area_m2 double not null check (isfinite(area_m2) and area_m2 > 0),
    cut_width_m double check (isfinite(cut_width_m)),
    discharge_width_m double check (isfinite(discharge_width_m)),
    seconds_note varchar
);

create table operations (
    crop_year bigint not null,
    field varchar not null,
    plot varchar not null,
    done_on date not null,
    operation varchar not null,
    dollars_per_acre double check (isfinite(dollars_per_acre)),
    notes varchar
);

create table weather (
    happened_on date not null,
    field varchar,
    event varchar not null,
    reading double check (isfinite(reading)),
    unit varchar,
    notes varchar
);

create table prices (
    crop_year bigint not null,
    crop varchar not null,
    grade varchar not null,
    dollars_per_tonne double not null check (isfinite(dollars_per_tonne))
);

-- One row a setting; values are text and read by analytics/settings.py. A setting never changed has no row.
create table settings (
    name varchar not null,
    value varchar not null
);

-- One row an act (an import, a save, a setting), and one row a changed record of it, whole, before and after.
create sequence act_number;
create table acts (
    act_id bigint not null default nextval('act_number'),
    happened_at timestamp not null default current_localtimestamp(),
    done_by varchar not null,
    source varchar not null check (source in ('import', 'screen', 'setting', 'undo', 'restore')),
    why varchar
);

create table changes (
    act_id bigint not null,
    table_name varchar not null,
    row_key json not null,
    before json,
    after json
);
