"""How far one piece can be trusted."""
