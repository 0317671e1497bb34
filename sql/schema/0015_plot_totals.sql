-- What a certified scale says a single plot brought: its yield monitor's loads are scaled to that before a field's total.
create table plot_totals (
    crop_year bigint not null,
    field varchar not null,
    plot varchar not null,
    certified_kg double not null check (isfinite(certified_kg) and certified_kg > 0),
    notes varchar
);
