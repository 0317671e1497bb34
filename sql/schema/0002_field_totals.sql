-- What a certified scale says a whole field brought in a crop year: a yield monitor's loads are scaled to it.
create table field_totals (
    crop_year bigint not null,
    field varchar not null,
    certified_kg double not null check (isfinite(certified_kg) and certified_kg > 0),
    notes varchar
);
