"""Chances of suspects from a job's log, and which step to take next."""
