-- The limits of the grades of canola that a sample's figures can be held against, each with the crop years in which it
-- holds: from first_crop_year to last_crop_year, where null is as far back as records go, or until further notice. A new
-- edition is a new row in `editions` with its first crop year, new rows in `limits`, and the last crop year of the one
-- before; one edition of a jurisdiction holds in any crop year. Since when today's limits hold is not known; an undated
-- older guide had 3, 10 and 20 % for total damage. Percent of the sample. Read by analytics/pairs/grading.py, which rounds
-- a count to the decimals in which the law writes the limit, exact halves as `halves` says: up (Canada Grain Regulations,
-- Schedule 3, section 1) or to the even digit (7 CFR 810.104, from memory, not read). `caveat` is told beside the limits.
create or replace view grade_limits as
with editions as (
    from (values
        (
            'CA', 'regulation 2021 consolidation', null::bigint, null::bigint,
            'Canada Grain Regulations, C.R.C. c. 889, Schedule 3, Table 19 (Canola, Canada); text consolidated to '
            || 'June 2021',
            'up', 'A text consolidated to 19 August 2024 exists and was not read; ask the elevator for the limits of today'
        ),
        (
            'US', 'CFR', null, null,
            '7 CFR 810.304, Grades and grade requirements for canola; text current to April 2026',
            'to even', 'How halves are rounded (7 CFR 810.104) is from memory'
        )
    ) as given (jurisdiction, edition, first_crop_year, last_crop_year, source, halves, caveat)
),

limits as (
    from (values
        ('CA', 'regulation 2021 consolidation', 'distinctly_green', 2, 6, 20, 0),
        ('CA', 'regulation 2021 consolidation', 'heated', 0.1, 0.5, 2.0, 1),
        ('CA', 'regulation 2021 consolidation', 'total_damage', 5, 12, 25, 0),
        ('CA', 'regulation 2021 consolidation', 'conspicuous_inseparable_other_seeds', 1.0, 1.5, 2.0, 1),
        ('US', 'CFR', 'heat_damaged', 0.1, 0.5, 2.0, 1),
        ('US', 'CFR', 'distinctly_green', 2.0, 6.0, 20.0, 1),
        ('US', 'CFR', 'total_damage', 3.0, 10.0, 20.0, 1),
        ('US', 'CFR', 'total_conspicuous_admixture', 1.0, 1.5, 2.0, 1)
    ) as given (jurisdiction, edition, factor, max_no1, max_no2, max_no3, decimals_as_written)
)

select
    jurisdiction,
    edition,
    editions.first_crop_year,
    editions.last_crop_year,
    limits.factor,
    limits.max_no1::decimal(5, 2) as max_no1,
    limits.max_no2::decimal(5, 2) as max_no2,
    limits.max_no3::decimal(5, 2) as max_no3,
    limits.decimals_as_written,
    editions.source,
    editions.halves,
    editions.caveat
from limits
inner join editions using (jurisdiction, edition);
