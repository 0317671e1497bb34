"""Points of a yield monitor: read, cut to strips, cleaned alike both ways, scaled, and kept as plots and pairs."""
