"""QR symbols: drawn, masked, and read from photographs."""
