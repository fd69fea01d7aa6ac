"""CSV folders, read and written."""
