"""The commands of the terminal, a file for each kind; each imports what it needs only when it is called."""
