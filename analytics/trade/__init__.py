"""The trade's arithmetic and words, without any record: units, measures, numbers as text, grade, loss, budget."""
