-- Field work may say how long it took, the fuel, how often it stopped, with which machine, who was at the wheel, and
-- with which other plots it was one job; a plot may say how long combining had to wait.
create table new_operations (
    crop_year bigint not null,
    field varchar not null,
    plot varchar not null,
    done_on date not null,
    operation varchar not null,
    dollars_per_acre double check (isfinite(dollars_per_acre)),
    hours double check (isfinite(hours)),
    fuel_l double check (isfinite(fuel_l)),
    stops bigint,
    machine varchar,
    operator varchar,
    job varchar,
    notes varchar
);
insert into new_operations
select crop_year, field, plot, done_on, operation, dollars_per_acre, null, null, null, null, null, null, notes
from operations;
drop table operations;
alter table new_operations rename to operations;

create table new_plots (
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
    waiting_hours double check (isfinite(waiting_hours)),
    notes varchar
);
insert into new_plots
select
    crop_year, field, plot, method, acres, seed_colour_change_pct, windrowed_on, preharvest_on, preharvest_product,
    preharvest_interval_days, harvested_on, null, notes
from plots;
drop table plots;
alter table new_plots rename to plots;
