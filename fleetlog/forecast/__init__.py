"""When an engine reaches given hours: a usage forecast over plain arrays."""
