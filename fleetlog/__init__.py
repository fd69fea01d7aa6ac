"""Maintenance history and service forecasts for outboard engines."""

import os

__version__ = "0.1.0"

# The forecast multiplies long thin arrays: shared among threads that takes three times the processor time.
# Read by numpy's linear algebra where it is loaded first; who sets it otherwise is left alone.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
