create temp table plot_yield as from plot_yield limit $most;
