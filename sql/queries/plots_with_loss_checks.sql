-- Plots that were checked for loss: the parts of it, and the yield they are held against; oldest first.
select
    plot_loss.*,
    plot_yield.yield_as_sold_bu_ac
from plot_loss
inner join plot_yield using (crop_year, field, plot)
where plot_loss.spots > 0
order by plot_loss.crop_year, plot_loss.field, plot_loss.plot;
