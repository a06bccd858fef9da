"""What a page shows before anything can be worked out: an empty chart.

It is drawn before the model is loaded, so that the browser fetches what draws charts meanwhile:
that takes it about as long.
"""

from __future__ import annotations

import plotly.graph_objects as go
from streamlit.delta_generator import DeltaGenerator

WORDS = "Reading the plan and its record ..."


def show(place: DeltaGenerator) -> None:
    """Draw the empty chart in a place that is emptied when the page is there."""
    hidden = {"visible": False}
    note = {"text": WORDS, "showarrow": False, "x": 0, "xanchor": "left", "xref": "paper"}
    layout = {
        "height": 60,
        "margin": {"l": 0, "r": 0, "t": 0, "b": 0},
        "xaxis": hidden,
        "yaxis": hidden,
        "annotations": [note],
    }
    place.plotly_chart(
        go.Figure(layout=layout), key="waiting", alt=WORDS, config={"displayModeBar": False}
    )
