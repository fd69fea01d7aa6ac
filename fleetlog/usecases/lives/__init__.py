"""What the log's own records tell of how long items last."""
