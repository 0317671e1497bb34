-- One row per pair that misses something which the farm asks of every pair (the setting requirements, fixed before looking):
-- what it misses, or what nobody can tell of it, for every measure, for those that are weighed, and for loss.
create or replace view missed_requirements as
with asked as (
    select unnest(string_split(value, ', ')) as requirement
    from settings
    where name = 'requirements'
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
        count(*) = count(checks.ways) and count(distinct checks.ways) = 1 as is_counted_alike
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

met as (
    select
        pair_facts.crop_year,
        pair_facts.pair,
        unnest([
            {'requirement': 'weighed alike', 'of': 'weight', 'is_met': not pair_facts.is_weighing_different},
            {'requirement': 'same variety', 'of': 'all', 'is_met': not pair_facts.is_variety_different},
            {'requirement': 'seeded within 7 days', 'of': 'all', 'is_met': pair_facts.days_between_seedings <= 7},
            {'requirement': 'loss counted alike', 'of': 'loss', 'is_met': counted.is_counted_alike},
            {
                'requirement': 'drawn before harvest',
                'of': 'all',
                'is_met': pair_facts.allocation = 'drawn by lot'
                and coalesce(try_cast(draws.drawn_at[:10] as date) < first_cuts.first_cut_on, true)
            }
        ], recursive := true)
    from pair_facts
    inner join counted using (crop_year, pair)
    inner join first_cuts using (crop_year, pair)
    left join draws using (crop_year, pair)
)

select
    crop_year,
    pair,
    string_agg(requirement, ', ' order by requirement) filter (where "of" = 'all') as of_every_measure,
    string_agg(requirement, ', ' order by requirement) filter (where "of" = 'weight') as of_weight,
    string_agg(requirement, ', ' order by requirement) filter (where "of" = 'loss') as of_loss
from met
semi join asked using (requirement)
where not coalesce(is_met, false)
group by crop_year, pair;
