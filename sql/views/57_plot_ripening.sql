-- One row per plot: from which day it ripened open to the weather. A plot without a noted day (standing, no product)
-- takes its partner's, and starts_from says so; null where there is none.
create or replace view plot_ripening as
with paired as (
    select
        pair_plots.crop_year,
        pair_plots.field,
        pair_plots.plot,
        pair_plots.pair,
        pair_timing.cut_stage_on
    from pair_plots
    inner join pair_timing using (crop_year, pair)
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
