create temp table plot_money as from plot_money limit $most;
