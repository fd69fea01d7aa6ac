"""Tests of fleetlog, laid out like the package."""
