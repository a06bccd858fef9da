"""Start the dashboard: `python -m dashboard PLAN`."""

import sys

from model.errors import STOPPED


def run() -> int:
    """Serve until it is stopped; return the exit status. Ctrl-C is one line at any moment."""
    try:
        from dashboard.launch import main

        return main()
    except KeyboardInterrupt:
        sys.stderr.write(f"{STOPPED}\n")
        return 1


if __name__ == "__main__":
    sys.exit(run())
