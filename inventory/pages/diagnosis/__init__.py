"""Pages of what might be wrong in a job."""
