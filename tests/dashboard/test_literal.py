"""Text of a plan is shown as it was written: no picture, link, formula or word is made of it.

What counts as markup is GitHub Flavored Markdown, as its specification says (0.29, sections 4 to
6), with the framework's formulas and directives.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from streamlit.proto.Delta_pb2 import Delta

from dashboard.literal import literal, make_plain, without_foreign_markup
from tests.dashboard.window import keep_home, opened

PICTURE = "![x](http://evil.example/a.png)"
HOSTILE = [
    PICTURE,
    "[win](http://evil.example)",
    "http://evil.example/a",
    "www.evil.example",
    "<img src=x onerror=alert(1)>",
    "$\\frac{1}{2}$",
    ":red[stop]",
    ":material/home:",
    "**bold** and _slanted_ and ~~gone~~ and `code`",
    "# heading",
    "> quoted",
    "- a list",
    "1. a list",
    "me@evil.example",
]
"""Texts that a page must show as they are."""


def unescaped(text: str) -> str:
    """Return what a reader sees of escaped markup: backslashes and joiners are not seen."""
    return text.replace("\\\\", "\0").replace("\\", "").replace("\0", "\\").replace("\u2060", "")


@pytest.mark.parametrize("text", HOSTILE)
def test_literal_when_text_is_markup_then_it_is_seen_as_written(text: str) -> None:
    """Nothing is left out and nothing of it can begin a markup."""
    plain = literal(text)
    assert plain != text
    assert unescaped(plain) == text
    assert literal("Sandlark valley, 0.10 (invented): 3 of 4") == (
        "Sandlark valley, 0.10 (invented): 3 of 4"
    )


@pytest.mark.parametrize("text", HOSTILE[:8])
def test_page_text_when_it_holds_foreign_markup_then_that_is_plain(text: str) -> None:
    """Even where a plan's text was cut or changed on its way, nothing fetches, links or renders."""
    said = f"**Bank**: {text[:1].upper()}{text[1:]} `0.3`"
    plain = without_foreign_markup(said)
    assert plain != said
    assert plain.startswith("**Bank**")
    assert unescaped(plain) == unescaped(said)


def message(kind: str, field: str, text: str) -> Delta:
    """Return a message of the framework with a text in it."""
    delta = Delta()
    setattr(getattr(delta.new_element, kind), field, text)
    return delta


def test_message_when_it_is_read_as_markup_then_the_plans_text_in_it_is_plain() -> None:
    """Bodies, labels and titles; what is shown as it is and what a control holds stay."""
    name = "**Sell** [now](http://evil.example)"
    for kind, field in (("markdown", "body"), ("button", "label"), ("alert", "body")):
        delta = message(kind, field, f"**Our choice**: {name}")
        make_plain(delta, (name,))
        shown = getattr(getattr(delta.new_element, kind), field)
        assert shown.startswith("**Our choice**: \\*\\*Sell\\*\\* \\[now")
        assert unescaped(shown) == f"**Our choice**: {name}"
    for kind, field in (("text", "body"), ("text_input", "default")):
        delta = message(kind, field, name)
        make_plain(delta, (name,))
        assert getattr(getattr(delta.new_element, kind), field) == name
    chart = message("plotly_chart", "spec", '{"t": "<b>a</b> <a href=\'x\'>b</a>"}')
    make_plain(chart, ())
    assert "<a" not in chart.new_element.plotly_chart.spec
    assert "<b>a</b>" in chart.new_element.plotly_chart.spec


def test_pages_when_a_plan_is_full_of_markup_then_none_of_it_stands_on_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Title, valley and strategies of a plan, on pages that name them; controls hold the text."""
    hostile = f"{PICTURE} $x$ **now** http://evil.example"
    changes = {"title": hostile, "valley.name": hostile, "sequences.count": 100}
    keep_home(tmp_path, monkeypatch, changes)
    window = opened("today")
    assert not any("<img" in str(html.proto.body) for html in window.get("html"))
    seen = [*window.markdown, *window.caption, *window.info, *window.warning, *window.header]
    shown = [element.value for element in seen]
    assert any("evil.example" in text for text in shown)
    for text in shown:
        assert "](" not in text.replace("\\](", "")
        assert PICTURE not in text
        assert "http://evil" not in text
    assert any(field.value == hostile for field in window.text_input)
