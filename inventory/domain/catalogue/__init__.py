"""Parts, bins and lots: the catalogue, its search, and which stock a pull takes."""
