"""Runs the command line as `python -m fleetlog`."""

from fleetlog.cli.main import main

main()
