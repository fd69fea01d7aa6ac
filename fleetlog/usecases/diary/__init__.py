"""What the shop asks of its diary."""
