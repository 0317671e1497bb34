-- One row per pair: when its sides were cut and combined. The cutting stage is the day of windrowing, else the day of
-- the standing side's pre-harvest product. Days later are standing minus windrowed.
create or replace view pair_timing as
select
    pairs.crop_year,
    pairs.pair,
    pairs.standing_field,
    pairs.standing_plot,
    pairs.windrowed_field,
    pairs.windrowed_plot,
    coalesce(windrowed.windrowed_on, standing.preharvest_on) as cut_stage_on,
    standing.harvested_on as standing_harvested_on,
    windrowed.harvested_on as windrowed_harvested_on,
    date_diff('day', windrowed.harvested_on, standing.harvested_on) as days_later,
    date_diff('day', coalesce(windrowed.windrowed_on, standing.preharvest_on), standing.harvested_on) as days_between
from pairs
left join plot_timing as standing
    on standing.crop_year = pairs.crop_year
    and standing.field = pairs.standing_field
    and standing.plot = pairs.standing_plot
left join plot_timing as windrowed
    on windrowed.crop_year = pairs.crop_year
    and windrowed.field = pairs.windrowed_field
    and windrowed.plot = pairs.windrowed_plot;

-- One row per plot: from which day it ripened open to the weather. A plot without a noted day (standing, no product)
-- takes its partner's, and starts_from says so; null where there is none.
create or replace view plot_ripening as
with paired as (
    select crop_year, pair, standing_field as field, standing_plot as plot, cut_stage_on from pair_timing
    union all
    select crop_year, pair, windrowed_field, windrowed_plot, cut_stage_on from pair_timing
)

select
    plot_timing.crop_year,
    plot_timing.field,
    plot_timing.plot,
    paired.pair,
    plot_timing.method,
    plot_timing.seed_colour_change_pct,
    plot_timing.harvested_on,
    coalesce(plot_timing.windrowed_on, plot_timing.preharvest_on, paired.cut_stage_on) as starts_on,
    case
        when plot_timing.windrowed_on is not null then 'windrowed'
        when plot_timing.preharvest_on is not null then 'product'
        when paired.cut_stage_on is not null then 'partner'
    end as starts_from
from plot_timing
left join paired using (crop_year, field, plot);
