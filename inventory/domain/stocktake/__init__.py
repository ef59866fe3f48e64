"""Count walks, levels of bottles and reels, and stock lists from a spreadsheet."""
