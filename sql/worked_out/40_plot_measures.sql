create temp table plot_measures as from plot_measures limit $most;
