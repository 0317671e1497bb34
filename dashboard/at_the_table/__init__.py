"""What the screen of the sheet reads."""
