-- The rows of a table or view that belong to either plot of a pair, and which side it is.
select
    rows_of.*,
    pair_plots.side
from query_table($view) as rows_of
inner join pair_plots using (crop_year, field, plot)
where pair_plots.crop_year = $crop_year and pair_plots.pair = $pair;
