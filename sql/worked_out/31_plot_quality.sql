create temp table plot_quality as from plot_quality limit $most;
