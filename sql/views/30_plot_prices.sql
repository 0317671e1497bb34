-- One row per plot with a grade: the price of a tonne by the shares of its grades, and how far that lies below the best
-- grade priced in that crop year, $/t. Null when a grade of the plot has no price; unpriced_grades then names them.
create or replace view plot_prices as
with priced as (
    select
        prices.crop_year,
        prices.grade,
        prices.dollars_per_tonne,
        first(prices.dollars_per_tonne) over (partition by prices.crop_year order by prices.grade)
            as best_dollars_per_tonne
    from prices
    inner join constants on constants.crop = lower(prices.crop)
)

select
    grade_shares.crop_year,
    grade_shares.field,
    grade_shares.plot,
    string_agg(grade_shares.grade, ' and ' order by grade_shares.grade) as grades,
    case when count(*) = count(priced.grade) then sum(grade_shares.share * priced.dollars_per_tonne order by grade_shares.grade) end
        as dollars_per_tonne,
    case when count(*) = count(priced.grade)
        then sum(
            grade_shares.share * (priced.best_dollars_per_tonne - priced.dollars_per_tonne) order by grade_shares.grade
        ) end as below_best_dollars_per_tonne,
    string_agg(grade_shares.grade, ' and ' order by grade_shares.grade) filter (where priced.grade is null)
        as unpriced_grades
from grade_shares
left join priced using (crop_year, grade)
group by grade_shares.crop_year, grade_shares.field, grade_shares.plot;
