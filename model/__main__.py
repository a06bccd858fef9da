"""Run the command line as `python -m model`, or as the installed command `seasons`."""

import sys

from model.errors import STOPPED


def run() -> int:
    """Run one command; return its exit status. Ctrl-C is one line, while modules load too."""
    try:
        from model.cli import main

        return main()
    except KeyboardInterrupt:
        sys.stderr.write(f"{STOPPED}\n")
        return 1


if __name__ == "__main__":
    sys.exit(run())
