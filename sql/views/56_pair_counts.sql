-- One row per pair: seeds crushed and green on both sides, and the share of each that is sold as No. 1, 0 to 1. Null
-- where a side has no count or no grade.
create or replace view pair_counts as
select
    pairs.crop_year,
    pairs.pair,
    pairs.standing_field,
    pairs.windrowed_field,
    standing.seeds_crushed as standing_crushed,
    standing.green_seeds as standing_green,
    standing.no1_share as standing_no1_share,
    windrowed.seeds_crushed as windrowed_crushed,
    windrowed.green_seeds as windrowed_green,
    windrowed.no1_share as windrowed_no1_share
from pairs
left join plot_quality as standing
    on standing.crop_year = pairs.crop_year
    and standing.field = pairs.standing_field
    and standing.plot = pairs.standing_plot
left join plot_quality as windrowed
    on windrowed.crop_year = pairs.crop_year
    and windrowed.field = pairs.windrowed_field
    and windrowed.plot = pairs.windrowed_plot;
