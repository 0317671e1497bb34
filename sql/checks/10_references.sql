-- A row that names a field or plot which is not on record.
with plot_rows as (
    select 'loads' as table_name, crop_year, field, plot from loads
    union all
    select 'samples', crop_year, field, plot from samples
    union all
    select 'loss_checks', crop_year, field, plot from loss_checks
    union all
    select 'operations', crop_year, field, plot from operations
    union all
    select 'pairs', crop_year, field, plot from pair_plots where plot is not null
    union all
    select 'bin_fills', crop_year, field, plot from bin_fills
    union all
    select 'monitor_strips', crop_year, field, plot from monitor_strips
    union all
    select 'monitor_removals', crop_year, field, plot from monitor_removals
    union all
    select 'monitor_cells', crop_year, field, plot from monitor_cells
    union all
    select 'spring_counts', crop_year, field, plot from spring_counts
    union all
    select 'plot_totals', crop_year, field, plot from plot_totals
),

bin_rows as (
    select 'bin_fills' as table_name, crop_year, bin from bin_fills
    union all
    select 'bin_checks', crop_year, bin from bin_checks
),

field_rows as (
    select 'plantings' as table_name, field from plantings
    union all
    select 'plots', field from plots
    union all
    select 'field_totals', field from field_totals
    union all
    select 'field_distances', field from field_distances
    union all
    select 'field_distances', other_field from field_distances
    union all
    select 'weather', field from weather where field is not null
)

select distinct
    table_name || ': ' || field || ' ' || plot || ', ' || crop_year || ' is not among the plots.' as problem
from plot_rows
anti join plots using (crop_year, field, plot)
union all
select distinct table_name || ': ' || field || ' is not among the fields.'
from field_rows
anti join fields using (field)
union all
select distinct table_name || ': ' || bin || ', ' || crop_year || ' is not among the bins.'
from bin_rows
anti join bins using (crop_year, bin);
