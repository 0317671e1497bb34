"""One file a screen, named after what the grower asks there."""
