-- A loss check may say in which conditions it was made, a frost how long it lasted; and volunteers are counted in spring.
create table new_loss_checks (
    crop_year bigint not null,
    field varchar not null,
    plot varchar not null,
    checked_on date not null,
    place varchar not null,
    spot varchar not null,
    seeds bigint,
    grams double check (isfinite(grams)),
    area_m2 double check (isfinite(area_m2) and area_m2 > 0),
    cut_width_m double check (isfinite(cut_width_m)),
    discharge_width_m double check (isfinite(discharge_width_m)),
    seconds_note varchar,
    loss_pct double check (isfinite(loss_pct)),
    hour_of_day double check (isfinite(hour_of_day)),
    ground_speed_kmh double check (isfinite(ground_speed_kmh)),
    air_c double check (isfinite(air_c)),
    humidity_pct double check (isfinite(humidity_pct)),
    machine_settings varchar
);
insert into new_loss_checks select *, null, null, null, null, null from loss_checks;
drop table loss_checks;
alter table new_loss_checks rename to loss_checks;

create table new_weather (
    happened_on date not null,
    field varchar,
    event varchar not null,
    reading double check (isfinite(reading)),
    unit varchar,
    hours_below_zero double check (isfinite(hours_below_zero)),
    notes varchar
);
insert into new_weather select happened_on, field, event, reading, unit, null, notes from weather;
drop table weather;
alter table new_weather rename to weather;

create table spring_counts (
    crop_year bigint not null,
    field varchar not null,
    plot varchar not null,
    counted_on date not null,
    spot varchar not null,
    plants bigint not null,
    area_m2 double not null check (isfinite(area_m2) and area_m2 > 0)
);
