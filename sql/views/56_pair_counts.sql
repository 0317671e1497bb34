-- One row per pair: seeds crushed and green on both sides, and the share of each that is sold as No. 1, 0 to 1. Null
-- where a side has no count or no grade.
create or replace view pair_counts as
select
    pair_plots.crop_year,
    pair_plots.pair,
    max(pair_plots.field) filter (where side = 'standing') as standing_field,
    max(pair_plots.field) filter (where side = 'windrowed') as windrowed_field,
    max(plot_quality.seeds_crushed) filter (where side = 'standing') as standing_crushed,
    max(plot_quality.green_seeds) filter (where side = 'standing') as standing_green,
    max(plot_quality.no1_share) filter (where side = 'standing') as standing_no1_share,
    max(plot_quality.seeds_crushed) filter (where side = 'windrowed') as windrowed_crushed,
    max(plot_quality.green_seeds) filter (where side = 'windrowed') as windrowed_green,
    max(plot_quality.no1_share) filter (where side = 'windrowed') as windrowed_no1_share
from pair_plots
left join plot_quality using (crop_year, field, plot)
group by pair_plots.crop_year, pair_plots.pair;
