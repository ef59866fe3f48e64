"""Parts, bins and lots: what there is, how it is told apart, found, and picked from."""
