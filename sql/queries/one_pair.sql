-- One pair as it was made, and the name of its ground.
select distinct
    pairs.*,
    pair_plots.pair_field
from pairs
inner join pair_plots using (crop_year, pair)
where pairs.crop_year = $crop_year and pairs.pair = $pair;
