-- Plots that are in no pair.
select
    crop_year,
    field,
    plot,
    method
from plots
anti join pair_plots using (crop_year, field, plot)
order by crop_year, field, plot;
