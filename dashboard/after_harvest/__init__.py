"""What the screens for typing and for files keep between runs."""
