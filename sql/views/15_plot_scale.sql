-- One row per plot whose every load was weighed by the yield monitor and that has a certified total of its own: certified /
-- monitor, by which its masses are multiplied. It mends a monitor that is wrong by method, which a field's total cannot.
create or replace view plot_scale as
select
    loads.crop_year,
    loads.field,
    loads.plot,
    plot_totals.certified_kg / sum(loads.weight_kg) as scale_factor
from loads
inner join plot_totals using (crop_year, field, plot)
group by loads.crop_year, loads.field, loads.plot, plot_totals.certified_kg
having
    count(*) = count(*) filter (where loads.weighed_by = 'yield monitor')
    and count(*) = count(loads.weight_kg);
