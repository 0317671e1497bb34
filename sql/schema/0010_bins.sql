-- Grain in the bin: the bins of a crop year, which plots went into them, and every check of one.
create table bins (
    crop_year bigint not null,
    bin varchar not null,
    conditioned_on date,
    emptied_on date,
    notes varchar
);

create table bin_fills (
    crop_year bigint not null,
    bin varchar not null,
    filled_on date not null,
    field varchar not null,
    plot varchar not null,
    weight_kg double check (isfinite(weight_kg)),
    moisture_pct double check (isfinite(moisture_pct)),
    temperature_c double check (isfinite(temperature_c)),
    notes varchar
);

create table bin_checks (
    crop_year bigint not null,
    bin varchar not null,
    checked_on date not null,
    place varchar not null,
    temperature_c double check (isfinite(temperature_c)),
    moisture_pct double check (isfinite(moisture_pct)),
    outside_c double check (isfinite(outside_c)),
    smell varchar,
    action varchar
);
