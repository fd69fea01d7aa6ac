"""Pages and sheets of the shop's diary."""
