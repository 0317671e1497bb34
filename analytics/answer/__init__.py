"""From the records to an answer in words, in dollars and as JSON."""
