create temp table plot_loss as from plot_loss limit $most;
