"""What a record is: the tables, their columns and rules, what a cell says, what is allowed in a setting."""
