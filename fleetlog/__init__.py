"""Maintenance history and service forecasts for outboard engines."""

__version__ = "0.1.0"
