"""Work bundled into visits, and visits put on the days of the shop."""
