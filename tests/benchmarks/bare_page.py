"""A bare page of the framework: a slider, a chart of five lines. What pages are measured against.

Served like the dashboard: `python -m tests.benchmarks.bare_page --port 8000 --no-browser`.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import plotly.graph_objects as go
import streamlit as st

MONTHS = 36


def page() -> None:
    """Draw the page."""
    st.title("A bare page", anchor=False)
    height = st.slider("Height", 0.0, 100.0, 50.0, step=0.5, key="slider")
    months = np.arange(MONTHS)
    lines = [height + at * np.sin(months / 6.0) for at in range(1, 6)]
    figure = go.Figure([go.Scatter(x=months, y=line, name=f"{line[0]:.0f}") for line in lines])
    st.plotly_chart(figure, key="bare")


def main() -> None:
    """Serve this file."""
    from streamlit.web import cli

    port = sys.argv[sys.argv.index("--port") + 1]
    sys.argv = [
        "streamlit",
        "run",
        str(Path(__file__)),
        "--server.port",
        port,
        "--server.headless",
        "true",
        "--server.address",
        "127.0.0.1",
        "--browser.gatherUsageStats",
        "false",
    ]
    sys.exit(cli.main())


if st.runtime.exists():
    page()
elif __name__ == "__main__":
    main()
