-- One row per plot, day and place of loss checks in which a condition was noted: the mean loss of its spots, bu/ac, and the
-- means of what was noted. To look at, not to conclude from.
create or replace view loss_conditions as
select
    loss_spots.crop_year,
    loss_spots.field,
    loss_spots.plot,
    plots.method,
    loss_spots.checked_on,
    loss_spots.place,
    avg(loss_spots.loss_bu_ac order by loss_spots.spot) as loss_bu_ac,
    avg(loss_spots.hour_of_day order by loss_spots.spot) as hour_of_day,
    avg(loss_spots.ground_speed_kmh order by loss_spots.spot) as ground_speed_kmh,
    avg(loss_spots.air_c order by loss_spots.spot) as air_c,
    avg(loss_spots.humidity_pct order by loss_spots.spot) as humidity_pct,
    string_agg(distinct loss_spots.machine_settings, '; ' order by loss_spots.machine_settings) as machine_settings
from loss_spots
inner join plots using (crop_year, field, plot)
where loss_spots.place in ('ground behind header', 'pan behind combine')
group by
    loss_spots.crop_year, loss_spots.field, loss_spots.plot, plots.method, loss_spots.checked_on, loss_spots.place
having
    count(loss_spots.loss_bu_ac) = count(*)
    and count(loss_spots.hour_of_day) + count(loss_spots.ground_speed_kmh) + count(loss_spots.air_c)
    + count(loss_spots.humidity_pct) > 0;
