"""Paired comparison on arrays alone: field-years and years, both questions, exact companions, planning."""
