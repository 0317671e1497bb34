-- Two rows with one key.
select 'fields: ' || field || ' is there twice.' as problem from fields group by field having count(*) > 1
union all
select 'plantings: ' || field || ', ' || crop_year || ' is there twice.'
from plantings group by crop_year, field having count(*) > 1
union all
select 'plots: ' || field || ' ' || plot || ', ' || crop_year || ' is there twice.'
from plots group by crop_year, field, plot having count(*) > 1
union all
select 'pairs: ' || pair || ', ' || crop_year || ' is there twice.'
from pairs group by crop_year, pair having count(*) > 1
union all
select 'loads: ticket ' || ticket || ' of ' || field || ' ' || plot || ', ' || crop_year || ' is there twice.'
from loads group by crop_year, field, plot, ticket having count(*) > 1
union all
select 'field_totals: ' || field || ', ' || crop_year || ' is there twice.'
from field_totals group by crop_year, field having count(*) > 1
union all
select 'samples: sample ' || sample || ' of ' || field || ' ' || plot || ', ' || crop_year || ' is there twice.'
from samples group by crop_year, field, plot, sample having count(*) > 1
union all
select 'loss_checks: ' || place || ', spot ' || spot || ' of ' || field || ' ' || plot || ', ' || checked_on
    || ' is there twice.'
from loss_checks group by crop_year, field, plot, checked_on, place, spot having count(*) > 1
union all
select 'operations: ' || operation || ' of ' || field || ' ' || plot || ', ' || done_on || ' is there twice.'
from operations group by crop_year, field, plot, done_on, operation having count(*) > 1
union all
select 'weather: ' || event || ' on ' || happened_on || ' is there twice.'
from weather group by happened_on, coalesce(field, ''), event having count(*) > 1
union all
select 'prices: ' || crop || ' grade ' || grade || ', ' || crop_year || ' is there twice.'
from prices group by crop_year, crop, grade having count(*) > 1
union all
select 'field_distances: ' || least(field, other_field) || ' and ' || greatest(field, other_field) || ' are there twice.'
from field_distances group by least(field, other_field), greatest(field, other_field) having count(*) > 1
union all
select 'field_distances: ' || field || ' has a distance to itself.'
from field_distances where field = other_field
union all
select 'bins: ' || bin || ', ' || crop_year || ' is there twice.' from bins group by crop_year, bin having count(*) > 1
union all
select 'bin_fills: ' || bin || ' with ' || field || ' ' || plot || ', ' || filled_on || ' is there twice.'
from bin_fills group by crop_year, bin, filled_on, field, plot having count(*) > 1
union all
select 'bin_checks: ' || place || ' of ' || bin || ', ' || checked_on || ' is there twice.'
from bin_checks group by crop_year, bin, checked_on, place having count(*) > 1
union all
select 'spring_counts: spot ' || spot || ' of ' || field || ' ' || plot || ', ' || counted_on || ' is there twice.'
from spring_counts group by crop_year, field, plot, counted_on, spot having count(*) > 1
union all
select 'plot_totals: ' || field || ' ' || plot || ', ' || crop_year || ' is there twice.'
from plot_totals group by crop_year, field, plot having count(*) > 1
union all
select 'settings: ' || name || ' is there twice.' from settings group by name having count(*) > 1;
