create temp table grade_shares as from grade_shares limit $most;
