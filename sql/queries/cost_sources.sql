-- How many paired plots with a known net return rest on which costs, and the defaults among those.
select
    plot_money.cost_from,
    count(*) as plots,
    string_agg(distinct plot_money.default_items, '; ') as default_items
from plot_money
inner join pair_plots using (crop_year, field, plot)
where plot_money.net_return_dollars_ac is not null
group by plot_money.cost_from
order by plot_money.cost_from;
