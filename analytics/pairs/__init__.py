"""One plot and one pair as on record: which pairs are complete, what differs beside the method, and what is missing."""
