-- Two rows with one key.
select 'fields: ' || field || ' stands twice.' as problem from fields group by field having count(*) > 1
union all
select 'plantings: ' || field || ', ' || crop_year || ' stands twice.'
from plantings group by crop_year, field having count(*) > 1
union all
select 'plots: ' || field || ' ' || plot || ', ' || crop_year || ' stands twice.'
from plots group by crop_year, field, plot having count(*) > 1
union all
select 'pairs: ' || pair || ', ' || crop_year || ' stands twice.'
from pairs group by crop_year, pair having count(*) > 1
union all
select 'loads: ticket ' || ticket || ' of ' || field || ' ' || plot || ', ' || crop_year || ' stands twice.'
from loads group by crop_year, field, plot, ticket having count(*) > 1
union all
select 'field_totals: ' || field || ', ' || crop_year || ' stands twice.'
from field_totals group by crop_year, field having count(*) > 1
union all
select 'samples: sample ' || sample || ' of ' || field || ' ' || plot || ', ' || crop_year || ' stands twice.'
from samples group by crop_year, field, plot, sample having count(*) > 1
union all
select 'loss_checks: ' || place || ', spot ' || spot || ' of ' || field || ' ' || plot || ', ' || checked_on
    || ' stands twice.'
from loss_checks group by crop_year, field, plot, checked_on, place, spot having count(*) > 1
union all
select 'operations: ' || operation || ' of ' || field || ' ' || plot || ', ' || done_on || ' stands twice.'
from operations group by crop_year, field, plot, done_on, operation having count(*) > 1
union all
select 'weather: ' || event || ' on ' || happened_on || ' stands twice.'
from weather group by happened_on, coalesce(field, ''), event having count(*) > 1
union all
select 'prices: ' || crop || ' grade ' || grade || ', ' || crop_year || ' stands twice.'
from prices group by crop_year, crop, grade having count(*) > 1
union all
select 'field_distances: ' || least(field, other_field) || ' and ' || greatest(field, other_field) || ' stand twice.'
from field_distances group by least(field, other_field), greatest(field, other_field) having count(*) > 1
union all
select 'field_distances: ' || field || ' stands with a distance to itself.'
from field_distances where field = other_field
union all
select 'settings: ' || name || ' stands twice.' from settings group by name having count(*) > 1;
