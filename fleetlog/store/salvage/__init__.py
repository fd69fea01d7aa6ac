"""What can still be read of a damaged file, page by page."""
