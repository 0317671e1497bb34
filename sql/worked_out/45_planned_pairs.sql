create temp table planned_pairs as from planned_pairs limit $most;
