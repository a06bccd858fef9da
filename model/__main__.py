"""Run the command line as `python -m model`."""

import sys

from model.cli import main

if __name__ == "__main__":
    sys.exit(main())
