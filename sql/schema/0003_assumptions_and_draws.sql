-- What no paper brings and must be kept: the farm's own cost rates, its rules for planning, draws and broken draws.
create table cost_assumptions (
    item varchar not null,
    low double check (isfinite(low)),
    middle double not null check (isfinite(middle)),
    high double check (isfinite(high)),
    year bigint,
    source varchar not null
);

create table planning_rules (
    rule varchar not null,
    is_used boolean not null,
    threshold double check (isfinite(threshold)),
    source varchar not null
);

-- One row a pair that was drawn: the first side is standing or windrowed as the lot fell.
create table draws (
    crop_year bigint not null,
    pair varchar not null,
    drawn_at varchar not null,
    seed bigint not null,
    place bigint not null,
    first_side varchar not null,
    second_side varchar not null,
    first_method varchar not null check (first_method in ('standing', 'windrowed'))
);

create table broken_draws (
    crop_year bigint not null,
    pair varchar not null,
    noted_on date not null,
    reason varchar not null
);
