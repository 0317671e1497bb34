-- One row per plot: what it brought and cost per acre, from records alone. Sold at the price of the lowest grade that
-- any of its tickets got. $/ac.
create or replace view plot_money as
with costs as (
    select
        crop_year,
        field,
        plot,
        case when count(*) = count(dollars_per_acre) then sum(dollars_per_acre) end as cost_dollars_ac
    from operations
    group by crop_year, field, plot
)

select
    plots.crop_year,
    plots.field,
    plots.plot,
    plot_quality.lowest_grade,
    prices.dollars_per_tonne,
    plot_yield.net_clean_kg / 1000 * prices.dollars_per_tonne / plots.acres as revenue_dollars_ac,
    costs.cost_dollars_ac,
    plot_yield.net_clean_kg / 1000 * prices.dollars_per_tonne / plots.acres - costs.cost_dollars_ac
        as net_return_dollars_ac,
    case
        when plot_yield.yield_as_sold_bu_ac is null then 'its yield as sold'
        when plot_quality.lowest_grade is null then 'a grade'
        when prices.dollars_per_tonne is null then 'a price for grade ' || plot_quality.lowest_grade
        when costs.cost_dollars_ac is null then 'the cost of its field work'
    end as missing
from plots
left join plot_yield using (crop_year, field, plot)
left join plot_quality using (crop_year, field, plot)
left join prices
    on prices.crop_year = plots.crop_year
    and prices.crop = 'canola'
    and prices.grade = plot_quality.lowest_grade
left join costs
    on costs.crop_year = plots.crop_year
    and costs.field = plots.field
    and costs.plot = plots.plot;
