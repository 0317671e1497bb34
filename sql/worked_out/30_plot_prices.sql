create temp table plot_prices as from plot_prices limit $most;
