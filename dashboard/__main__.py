"""Start the dashboard: `python -m dashboard PLAN`."""

import sys

from dashboard.launch import main

sys.exit(main())
