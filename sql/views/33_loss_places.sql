-- One row per plot and place: the spots averaged, and their spread. One spot that cannot be turned into bu/ac leaves
-- the place unknown. bu/ac. Averaged in order, so that the last digit is the same each time.
create or replace view loss_places as
select
    crop_year,
    field,
    plot,
    place,
    count(*) as spots,
    bool_or(loss_bu_ac is null and is_percent) as is_yield_unknown,
    bool_or(loss_bu_ac is null and not is_percent) as is_seed_weight_unknown,
    case when count(*) = count(loss_bu_ac) then avg(loss_bu_ac order by checked_on, spot) end as mean_bu_ac,
    case when count(*) = count(loss_bu_ac) then stddev_samp(loss_bu_ac order by checked_on, spot) end as spread_bu_ac
from loss_spots
group by crop_year, field, plot, place;
