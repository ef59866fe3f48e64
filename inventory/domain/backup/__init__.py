"""One file that holds the whole bench: made, kept once a day, restored."""
