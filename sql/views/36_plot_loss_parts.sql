-- One row per plot and part of its loss: bu/ac, percent of the yield as sold (what was harvested, at the moisture it
-- had, as the lost seed had), and $/ac at what a tonne of the plot brought. Null where unknown.
create or replace view plot_loss_parts as
with parts as (
    unpivot (
        select
            crop_year,
            field,
            plot,
            shatter_bu_ac as shatter,
            windrower_bu_ac as windrower,
            header_bu_ac as header,
            combine_bu_ac as combine,
            loss_bu_ac as total
        from plot_loss
    )
    on shatter, windrower, header, combine, total
    into name part value loss_bu_ac
)

select
    parts.*,
    100 * parts.loss_bu_ac / plot_yield.yield_as_sold_bu_ac as loss_pct,
    parts.loss_bu_ac * constants.kg_per_bushel / 1000 * plot_prices.dollars_per_tonne as loss_dollars_ac
from parts
left join plot_yield using (crop_year, field, plot)
left join plot_prices using (crop_year, field, plot)
cross join constants;
