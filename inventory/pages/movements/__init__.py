"""Pages that move stock and undo."""
