"""Pages of suppliers, orders and receiving."""
