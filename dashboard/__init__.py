"""The dashboard: reads, guards, makes one call, shows; every number and sentence comes from analytics."""
