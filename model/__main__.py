"""Run the command line as `python -m model`, or as the installed command `seasons`."""

import sys

from model.errors import until_stopped


def run() -> int:
    """Run one command; return its exit status. Ctrl-C is one line, while modules load too."""

    def command() -> int:
        from model.cli import main

        return main()

    return until_stopped(command)


if __name__ == "__main__":
    sys.exit(run())
