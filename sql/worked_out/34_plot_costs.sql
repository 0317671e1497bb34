create temp table plot_costs as from plot_costs limit $most;
