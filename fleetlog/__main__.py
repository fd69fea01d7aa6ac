"""Where the command begins: as `fleetlog`, and as `python -m fleetlog`."""

import sys


def main() -> None:
    """Run the command line; who stops it while it is still loading gets one line as well."""
    try:
        from fleetlog.cli.main import main as run
    except KeyboardInterrupt:
        print("fleetlog: stopped, nothing was recorded", file=sys.stderr)
        sys.exit(1)
    run()


if __name__ == "__main__":
    main()
