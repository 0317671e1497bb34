create temp table plot_machines as from plot_machines limit $most;
