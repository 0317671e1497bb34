create temp table pair_returns as from pair_returns limit $most;
