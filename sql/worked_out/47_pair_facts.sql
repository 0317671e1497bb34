create temp table pair_facts as from pair_facts limit $most;
