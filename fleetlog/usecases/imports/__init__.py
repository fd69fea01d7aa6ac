"""A CSV folder or a workbook taken into the log."""
