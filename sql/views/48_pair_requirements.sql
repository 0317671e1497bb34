-- One row per pair and requirement that the farm asks of it (the setting requirements, fixed before looking): whether it is
-- met, null where nobody can tell, and which measures it is about; null for all of them. A requirement holds for pairs of
-- the crop year from which it was decided, so that one fixed for next season leaves the years before as they are.
create or replace view pair_requirements as
with asked as (
    select
        regexp_replace(part, ' from [0-9]+$', '') as requirement,
        coalesce(try_cast(regexp_extract(part, ' from ([0-9]+)$', 1) as bigint), 0) as from_year
    from (select unnest(string_split(value, ', ')) as part from settings where name = 'requirements')
),

checks as (
    select
        crop_year,
        field,
        plot,
        list(distinct place || case when grams is not null then ' g' when seeds is not null then ' n' else ' %' end order by
            place || case when grams is not null then ' g' when seeds is not null then ' n' else ' %' end) as ways
    from loss_checks
    where place in ('ground behind header', 'pan behind combine')
    group by crop_year, field, plot
),

counted as (
    select
        pair_plots.crop_year,
        pair_plots.pair,
        case when count(*) = count(checks.ways) then count(distinct checks.ways) = 1 end as is_counted_alike
    from pair_plots
    left join checks using (crop_year, field, plot)
    group by pair_plots.crop_year, pair_plots.pair
),

first_cuts as (
    select
        pair_plots.crop_year,
        pair_plots.pair,
        min(coalesce(plots.windrowed_on, plots.harvested_on)) as first_cut_on
    from pair_plots
    left join plots using (crop_year, field, plot)
    group by pair_plots.crop_year, pair_plots.pair
),

held as (
    select
        pair_facts.crop_year,
        pair_facts.pair,
        unnest([
            {
                'requirement': 'weighed alike',
                'measures': ['yield', 'yield_as_sold', 'net_return'],
                'is_met': not pair_facts.is_weighing_different
            },
            {'requirement': 'same variety', 'measures': null, 'is_met': not pair_facts.is_variety_different},
            {'requirement': 'seeded within 7 days', 'measures': null, 'is_met': pair_facts.days_between_seedings <= 7},
            {'requirement': 'loss counted alike', 'measures': ['loss'], 'is_met': counted.is_counted_alike},
            {
                'requirement': 'drawn before harvest',
                'measures': null,
                'is_met': pair_facts.allocation = 'drawn by lot'
                and coalesce(try_cast(draws.drawn_at[:10] as date) < first_cuts.first_cut_on, true)
            }
        ], recursive := true)
    from pair_facts
    inner join counted using (crop_year, pair)
    inner join first_cuts using (crop_year, pair)
    left join draws using (crop_year, pair)
)

select held.crop_year, held.pair, held.requirement, held.measures, held.is_met
from held
inner join asked on asked.requirement = held.requirement and held.crop_year >= asked.from_year;
