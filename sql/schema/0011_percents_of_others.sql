-- A slip may say the percent of green seed without a count, and somebody else's method the loss as a percent of the yield;
-- beside that no area was measured.
create table new_samples (
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
    thousand_seed_g double check (isfinite(thousand_seed_g)),
    green_pct double check (isfinite(green_pct))
);
insert into new_samples select *, null from samples;
drop table samples;
alter table new_samples rename to samples;

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
    loss_pct double check (isfinite(loss_pct))
);
insert into new_loss_checks select *, null from loss_checks;
drop table loss_checks;
alter table new_loss_checks rename to loss_checks;
