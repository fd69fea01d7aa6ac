"""The commands of the shop's diary."""
