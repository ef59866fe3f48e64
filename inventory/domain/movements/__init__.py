"""What moves stock: pull, put back, receive, move, scrap, count, single out, undo."""
