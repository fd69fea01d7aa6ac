"""The tables, as typed models."""
