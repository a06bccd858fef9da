"""Start the dashboard: `python -m dashboard PLAN`."""

import sys

from model.errors import until_stopped


def run() -> int:
    """Serve until it is stopped; return the exit status. Ctrl-C is one line at any moment."""

    def serve() -> int:
        from dashboard.launch import main

        return main()

    return until_stopped(serve)


if __name__ == "__main__":
    sys.exit(run())
