"""Next season: which fields, which pairs, the draw by lot, and what the plan could show."""
