-- Every pair in order, the name of its ground, and whether it is not harvested yet.
select distinct
    pair_plots.crop_year,
    pair_plots.pair,
    pair_plots.pair_field as field,
    planned_pairs.pair is not null as is_planned
from pair_plots
left join planned_pairs using (crop_year, pair)
order by pair_plots.crop_year, pair_plots.pair;
