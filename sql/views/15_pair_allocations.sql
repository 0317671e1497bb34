-- One row per pair: how the methods were given in the end. Where the lot was drawn and not kept to, a person chose.
create or replace view pair_allocations as
select distinct
    pairs.crop_year,
    pairs.pair,
    case
        when pairs.allocation = 'drawn by lot' and broken_draws.reason is not null then 'chosen'
        else pairs.allocation
    end as allocation
from pairs
left join broken_draws using (crop_year, pair);
