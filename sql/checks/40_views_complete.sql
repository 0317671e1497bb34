-- The long view of pairs holds every pair once for each measure.
select 'pair_measures: ' || pair || ', ' || crop_year || ', ' || measure || ' is there ' || count(*) || ' times.' as problem
from pair_measures
group by crop_year, pair, measure
having count(*) > 1;
