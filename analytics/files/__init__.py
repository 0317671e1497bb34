"""Files in and out: read as text, typed, checked, compared with the records, brought in; templates and exports."""
