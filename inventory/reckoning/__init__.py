"""Pure arithmetic on plain values. Nothing here imports Flask, the database, a clock or a setting."""
