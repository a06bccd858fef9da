"""What a reader of the first pages takes for an answer says how far it goes, and of what."""

from pathlib import Path

import numpy as np
import pytest

from dashboard.findings.answer import beside
from dashboard.findings.this_season import worth_finding
from model.decide.desk import LimitAndBales
from model.decide.last_megalitre import Curve, LastMegalitre
from model.decide.season_question import Course, CoursesTried
from model.decide.strategy import strategies_of
from model.decide.ways import Ahead, Brought
from model.farm.setting import farm_setting_of
from model.outlook.chances import Estimate
from model.plan.demonstration import demonstration
from tests.dashboard.window import go, keep_home, opened, sound

AHEAD = Estimate(40_000.0, 39_000.0, 41_000.0, 26_000.0, 56_000.0)
UNSURE = Estimate(40_000.0, 39_000.0, 41_000.0, -6_000.0, 56_000.0)
NEVER = Estimate(0.0, 0.0, 0.0)


def _tried(ahead: Estimate) -> CoursesTried:
    """As usual, and 300 ML bought."""
    brought = Brought(AHEAD, AHEAD, NEVER, NEVER, NEVER)
    usual = Course("as_usual", 0.0, 0.0, "", brought, None)
    buy = Course("buy", 300.0, 0.0, "", brought, Ahead(ahead, ahead, NEVER))
    return CoursesTried((usual, buy), None, "mean")


@pytest.mark.parametrize(
    ("ahead", "said"),
    [
        (AHEAD, "buy 300 ML is best on average: $40,000 more ($26,000 to $56,000) than as usual"),
        (UNSURE, "as usual; nothing else tried is ahead"),
    ],
)
def test_sale_or_purchase_when_advised_then_what_it_brings_and_its_range_stand_beside_it(
    ahead: Estimate, said: str
) -> None:
    """A volume alone is no answer: how much better, and how sure."""
    plan, record = demonstration()
    plan = plan.with_drawing(count=20, seasons=1)
    setting = farm_setting_of(plan, record, strategies_of(plan))
    lines = beside(LimitAndBales(NEVER, NEVER, 0.0), _tried(ahead), setting)
    assert lines[0] == f"**Sell or buy now:** {said}."


def test_next_megalitre_when_uses_cannot_be_told_apart_then_none_is_called_best() -> None:
    """What each use brings is told, and no use is named before the others."""
    at, error = np.array([10.0]), np.array([9.0])
    curves = {
        "planted": Curve(at, np.array([551.0]), error),
        "held": Curve(at, np.array([548.0]), error),
    }
    found = LastMegalitre("A", 120.0, 100, curves, (), (None,))
    assert worth_finding(found) == (
        "Which use of one more megalitre is best cannot be told apart: in planting more $551 a "
        "ML, held in the account $548 a ML"
    )


def test_example_when_said_not_to_be_invented_then_what_is_lost_by_it_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Figures stay the example's when a box is unticked: no page calls them the family's own."""
    keep_home(tmp_path, monkeypatch, {"sequences.count": 100, "sequences.method": "blocks"})
    window = go(opened("today"), "our_valley")
    window.checkbox(key="field.invented").set_value(False).run()
    assert "still the example's" in sound(window).warning[0].value
    go(window, "our_farm")
    captions = " ".join(caption.value for caption in window.caption)
    assert "the page Our valley says that nothing is invented" in captions
    assert "Nothing here is the example's any more" not in captions
    go(window, "our_valley").checkbox(key="field.invented").set_value(True).run()
    assert not sound(window).warning
