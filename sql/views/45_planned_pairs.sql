-- One row per pair that is planned and not harvested yet: nothing of either side was weighed, sampled or checked for
-- loss, no harvest day is on record, and nothing of a later crop year was weighed. After that it lacks papers instead.
create or replace view planned_pairs as
with harvested as (
    select crop_year, field, plot from plots where harvested_on is not null
    union
    select crop_year, field, plot from loads
    union
    select crop_year, field, plot from samples
    union
    select crop_year, field, plot from loss_checks
)

select pairs.*
from pairs
anti join (
    from pair_plots
    semi join harvested using (crop_year, field, plot)
) using (crop_year, pair)
where pairs.standing_plot is not null and pairs.windrowed_plot is not null
    and pairs.crop_year >= (select coalesce(max(crop_year), 0) from loads);
