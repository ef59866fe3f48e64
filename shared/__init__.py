"""What the service and the label printer both need. Imports neither of them."""
