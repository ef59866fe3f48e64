"""What the stock is worth, what jobs cost, and what a customer is told."""
