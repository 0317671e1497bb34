-- One row per plot with green seed counted and a day of combining: whether frost is on record for its ground that crop year
-- before the first cut, after the cut and before combining, or not; the lowest reading of those frosts, C, and the hours
-- below zero. A year without a row of weather is not known and is left out. To look at, not to conclude from.
create or replace view plot_frost as
with cut as (
    select
        plot_timing.*,
        plot_quality.green_seed_pct,
        case plot_timing.method when 'windrowed' then windrowed_on else harvested_on end as first_cut_on
    from plot_timing
    inner join plot_quality using (crop_year, field, plot)
    where plot_quality.green_seed_pct is not null and plot_timing.harvested_on is not null
),

frosts as (
    select
        cut.crop_year,
        cut.field,
        cut.plot,
        min(weather.reading) filter (where upper(trim(coalesce(weather.unit, 'C'))) = 'C') as lowest_c,
        sum(weather.hours_below_zero) as hours_below_zero,
        bool_or(weather.happened_on < cut.first_cut_on) as is_before_cut,
        bool_or(weather.happened_on >= cut.first_cut_on) as is_after_cut
    from cut
    inner join weather
        on weather.event = 'frost'
        and year(weather.happened_on) = cut.crop_year
        and weather.happened_on between make_date(cut.crop_year::int, 8, 1) and cut.harvested_on
        and coalesce(weather.field, cut.field) = cut.field
    where cut.first_cut_on is not null
    group by cut.crop_year, cut.field, cut.plot
)

select
    cut.crop_year,
    cut.field,
    cut.plot,
    cut.method,
    cut.green_seed_pct,
    frosts.lowest_c,
    frosts.hours_below_zero,
    case
        when frosts.is_before_cut then 'before cutting'
        when frosts.is_after_cut then 'after cutting'
        else 'none'
    end as frost
from cut
left join frosts using (crop_year, field, plot)
where cut.first_cut_on is not null and exists (select 1 from weather where year(weather.happened_on) = cut.crop_year);
