"""What the screens of the winter review read: money, next season, one pair, exploration."""
