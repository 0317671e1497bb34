"""Grain in the bin: which plots lie in it, what its checks say, what raises an alarm, and when to look next."""
