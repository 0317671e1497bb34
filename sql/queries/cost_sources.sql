-- One row per paired plot with a known net return: its pair, where its costs come from, and the defaults among them.
select
    pair_plots.crop_year,
    pair_plots.pair,
    plot_money.cost_from,
    plot_money.default_items
from plot_money
inner join pair_plots using (crop_year, field, plot)
where plot_money.net_return_dollars_ac is not null;
