"""The schema, views, saves and checks of the records, as SQL files that travel with the program."""
