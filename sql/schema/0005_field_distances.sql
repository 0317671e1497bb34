-- How far apart two fields are, as the farm measures it: near fields see the same rain and wind.
create table field_distances (
    field varchar not null,
    other_field varchar not null,
    distance_km double not null check (isfinite(distance_km) and distance_km >= 0)
);
