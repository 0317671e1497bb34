"""Costs, prices and purchases as the farm typed them, and what they make of a difference."""
