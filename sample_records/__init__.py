"""The invented demo farm, as CSV files; a package only so that the files travel in the wheel."""
