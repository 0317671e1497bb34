-- Two rows with one key among what no paper brings.
select 'cost_assumptions: ' || item || ' is there twice.' as problem
from cost_assumptions group by item having count(*) > 1
union all
select 'planning_rules: ' || rule || ' is there twice.' from planning_rules group by rule having count(*) > 1
union all
select 'draws: ' || pair || ', ' || crop_year || ' is there twice.'
from draws group by crop_year, pair having count(*) > 1
union all
select 'broken_draws: ' || pair || ', ' || crop_year || ' is there twice.'
from broken_draws group by crop_year, pair having count(*) > 1
union all
select 'column_matches: ' || name || ', ' || column_name || ' is there twice.'
from column_matches group by name, table_name, column_name having count(*) > 1
union all
select 'share_codes: ' || name || ' is there twice.' from share_codes group by kind, name having count(*) > 1
union all
select 'share_codes: ' || code || ' stands for two.' from share_codes group by kind, code having count(*) > 1
union all
select 'monitor_strips: ' || field || ' ' || plot || ', ' || crop_year || ' is there twice.'
from monitor_strips group by crop_year, field, plot having count(*) > 1
union all
select 'monitor_removals: ' || step || ' of ' || field || ' ' || plot || ', ' || crop_year || ' is there twice.'
from monitor_removals group by crop_year, field, plot, step having count(*) > 1
union all
select 'monitor_cells: ' || cell || ' of ' || field || ' ' || plot || ', ' || crop_year || ' is there twice.'
from monitor_cells group by crop_year, field, plot, cell having count(*) > 1;
