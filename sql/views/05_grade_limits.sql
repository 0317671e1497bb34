-- The limits of the grades of canola, dated. Read by analytics/pairs/grading.py, which rounds a count to the decimals in
-- which the law writes the limit, exact halves as `halves` says: up (Canada Grain Regulations, Schedule 3, section 1) or
-- to the even digit (7 CFR 810.104, from memory, not read). A new edition is a new row here and in `editions`; the old
-- one becomes superseded. Percent of the sample, or a count, whichever `unit` says. `caveat` is told beside the limits.
create or replace view grade_limits as
with editions as (
    from (values
        (
            'CA', 'regulation 2021 consolidation', 'current',
            'Canada Grain Regulations, C.R.C. c. 889, Schedule 3, Table 19 (Canola, Canada); text consolidated to '
            || 'June 2021',
            'up', 'A text consolidated to 19 August 2024 exists and was not read; ask the elevator for the limits of today'
        ),
        (
            'CA', 'older guide',
            'superseded (total damage); admixture limits not re-verified against the current guide',
            'Older Canadian Official Grain Grading Guide limits as reproduced by Oklahoma State University canola '
            || 'pages (undated)',
            'up', ''
        ),
        (
            'US', 'CFR', 'current',
            '7 CFR 810.304, Grades and grade requirements for canola; text current to April 2026',
            'to even', 'How halves are rounded (7 CFR 810.104) is from memory'
        )
    ) as given (jurisdiction, edition, status, source, halves, caveat)
),

limits as (
    from (values
        ('CA', 'regulation 2021 consolidation', 'distinctly_green', '%', 2, 6, 20, 0),
        ('CA', 'regulation 2021 consolidation', 'heated', '%', 0.1, 0.5, 2.0, 1),
        ('CA', 'regulation 2021 consolidation', 'total_damage', '%', 5, 12, 25, 0),
        ('CA', 'regulation 2021 consolidation', 'conspicuous_inseparable_other_seeds', '%', 1.0, 1.5, 2.0, 1),
        ('CA', 'older guide', 'stones', '%', 0.05, 0.05, 0.05, 2),
        ('CA', 'older guide', 'ergot', '%', 0.05, 0.05, 0.05, 2),
        ('CA', 'older guide', 'sclerotia', '%', 0.1, 0.2, 0.3, 1),
        ('CA', 'older guide', 'insect_excreta', '%', 0.1, 0.2, 0.3, 1),
        ('CA', 'older guide', 'total_conspicuous_admixture', '%', 1.0, 1.5, 2.0, 1),
        ('CA', 'older guide', 'inconspicuous_admixture', '%', 5.0, 5.0, 5.0, 1),
        ('CA', 'older guide', 'heated', '%', 0.1, 0.5, 2.0, 1),
        ('CA', 'older guide', 'distinctly_green', '%', 2.0, 6.0, 20.0, 1),
        ('CA', 'older guide', 'total_damage', '%', 3.0, 10.0, 20.0, 1),
        ('US', 'CFR', 'heat_damaged', '%', 0.1, 0.5, 2.0, 1),
        ('US', 'CFR', 'distinctly_green', '%', 2.0, 6.0, 20.0, 1),
        ('US', 'CFR', 'total_damage', '%', 3.0, 10.0, 20.0, 1),
        ('US', 'CFR', 'ergot', '%', 0.05, 0.05, 0.05, 2),
        ('US', 'CFR', 'sclerotinia', '%', 0.05, 0.1, 0.15, 2),
        ('US', 'CFR', 'stones', '%', 0.05, 0.05, 0.05, 2),
        ('US', 'CFR', 'total_conspicuous_admixture', '%', 1.0, 1.5, 2.0, 1),
        ('US', 'CFR', 'inconspicuous_admixture', '%', 5.0, 5.0, 5.0, 1),
        ('US', 'CFR', 'animal_filth', 'count', 3, 3, 3, 0),
        ('US', 'CFR', 'glass', 'count', 0, 0, 0, 0),
        ('US', 'CFR', 'unknown_foreign_substance', 'count', 1, 1, 1, 0)
    ) as given (jurisdiction, edition, factor, unit, max_no1, max_no2, max_no3, decimals_as_written)
)

select
    jurisdiction,
    edition,
    editions.status,
    limits.factor,
    limits.unit,
    limits.max_no1::decimal(5, 2) as max_no1,
    limits.max_no2::decimal(5, 2) as max_no2,
    limits.max_no3::decimal(5, 2) as max_no3,
    limits.decimals_as_written,
    editions.source,
    editions.halves,
    editions.caveat
from limits
inner join editions using (jurisdiction, edition);
