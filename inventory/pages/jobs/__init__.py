"""Pages of jobs and people, and signing in."""
