-- One row per pair: seeds crushed and green on both sides, and whether every ticket of a side is No. 1. Null where a
-- side has no count or no grade.
create or replace view pair_counts as
select
    pairs.crop_year,
    pairs.pair,
    standing.seeds_crushed as standing_crushed,
    standing.green_seeds as standing_green,
    standing.is_no1 as is_standing_no1,
    windrowed.seeds_crushed as windrowed_crushed,
    windrowed.green_seeds as windrowed_green,
    windrowed.is_no1 as is_windrowed_no1
from pairs
left join plot_quality as standing
    on standing.crop_year = pairs.crop_year
    and standing.field = pairs.standing_field
    and standing.plot = pairs.standing_plot
left join plot_quality as windrowed
    on windrowed.crop_year = pairs.crop_year
    and windrowed.field = pairs.windrowed_field
    and windrowed.plot = pairs.windrowed_plot;
