"""Results as readable tables and sentences in the terminal."""
