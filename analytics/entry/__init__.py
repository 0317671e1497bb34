"""Typing after harvest: rows as typed, what was understood, and saving them."""
