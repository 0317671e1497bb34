"""What the screens about the records themselves read and do: acts, backups, a damaged file."""
