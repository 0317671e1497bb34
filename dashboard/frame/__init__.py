"""What every screen shares: the side bar, the door, reading and writing the records, the settings form."""
