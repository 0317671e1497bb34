"""The file of the records: opened, saved, kept safe, taken back, with the history of every change."""
