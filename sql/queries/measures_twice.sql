-- Measures that the long view of pairs holds more than once. It takes a pair that is there twice: it has a row for each
-- row of pairs and measure, whatever else is there twice.
select 'pair_measures: ' || pair || ', ' || crop_year || ', ' || measure || ' is there ' || count(*) || ' times.' as problem
from pair_measures
group by crop_year, pair, measure
having count(*) > 1;
