-- One row per bin: what it holds (standing, windrowed or mixed; null while no filling is on record), its last filling,
-- and the moisture of the wettest grain that went in: as typed with the filling, else of the plot's wettest ticket.
create or replace view bin_contents as
with tickets as (
    select crop_year, field, plot, max(moisture_pct) as wettest_pct
    from loads
    group by crop_year, field, plot
),

filled as (
    select
        bin_fills.crop_year,
        bin_fills.bin,
        max(bin_fills.filled_on) as last_filled_on,
        max(coalesce(bin_fills.moisture_pct, tickets.wettest_pct)) as wettest_pct,
        case when count(distinct plots.method) > 1 then 'mixed' else any_value(plots.method) end as holds,
        list(
            distinct bin_fills.field || ', ' || bin_fills.plot order by bin_fills.field || ', ' || bin_fills.plot
        ) as plot_names
    from bin_fills
    left join plots using (crop_year, field, plot)
    left join tickets using (crop_year, field, plot)
    group by bin_fills.crop_year, bin_fills.bin
)

select
    bins.crop_year,
    bins.bin,
    bins.conditioned_on,
    bins.emptied_on,
    filled.last_filled_on,
    filled.holds,
    filled.wettest_pct,
    coalesce(filled.plot_names, []) as plot_names
from bins
left join filled using (crop_year, bin);
