"""The local server of the dashboard, and the passphrases of those who come from other machines."""
