"""What a plan, a file or a diary says is shown as it was written, and is never read as markup.

The framework reads almost every text as markup: it would fetch a picture, make a link, set a
formula or colour a word. The pages' own texts mark words as strong or as code and do nothing else.
So, in the one place that every text passes on its way to the browser, all other markup is made
plain; and what the open plan says is made plain altogether, bold and code too.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Any, Final

import streamlit as st
from google.protobuf.message import Message  # type: ignore[import-untyped]
from streamlit.runtime.scriptrunner_utils.script_run_context import ScriptRunContext

_READ_AS_MARKUP: Final = frozenset({"body", "captions", "delta", "help", "label", "text"})
"""Fields of the framework's messages that the browser reads as markup."""

_NOT_READ: Final = frozenset({"Text", "Json", "Html"})
"""Messages whose texts it shows as they are."""

_MARKUP: Final = re.compile(
    r"[\\`*\[<$~]|(?<!\w)_|_(?!\w)|(?m:^\s*(?:[#>+-]|[0-9]+[.)])(?=\s|$)|^\s*[>#])"
)
_NOT_OURS: Final = re.compile(r"(?<!\\)(?:!(?=\[)|\](?=[(\[:])|<(?=[A-Za-z/!?])|\$)")
_DIRECTIVE: Final = re.compile(r"(?<![\w:]):(?=[A-Za-z0-9_+-]+(?:[:\[]|/[\w-]+:))")
_ADDRESS: Final = re.compile(r"(?i)\b(https?:|ftp:|mailto:|www\.)(?=[^\s\u2060])|(?<=\w)(@)(?=\w)")
_LINK_IN_CHART: Final = re.compile(r"(?:<|\\u003c)(?=/?a\b)", re.IGNORECASE)

_JOINER: Final = "\u2060"
"""A character of no width: with it in an address the address is not made a link."""


def literal(text: str) -> str:
    r"""Return markup that shows a text as it was written.

    Examples
    --------
    >>> literal("![x](http://evil.example/a.png) **now** $1")
    '!\\[x](http:\u2060//evil.example/a.png) \\*\\*now\\*\\* \\$1'
    """
    escaped = _MARKUP.sub(lambda mark: f"{mark[0][:-1]}\\{mark[0][-1]}", text)
    return _unlinked(_DIRECTIVE.sub(r"\\:", escaped))


def without_foreign_markup(text: str) -> str:
    r"""Return a page's text with what pages never use made plain: pictures, links, formulas, HTML.

    Examples
    --------
    >>> without_foreign_markup("**Bank** [now](http://evil.example)")
    '**Bank** [now\\](http:\u2060//evil.example)'
    >>> without_foreign_markup("Bank balance, $")
    'Bank balance, $'
    """
    formula = text.count("$") > 1  # one sign alone is money: a label says it aloud as it is

    def plain(mark: re.Match[str]) -> str:
        return mark[0] if mark[0] == "$" and not formula else f"\\{mark[0]}"

    return _unlinked(_DIRECTIVE.sub(r"\\:", _NOT_OURS.sub(plain, text)))


def _unlinked(text: str) -> str:
    """Return a text whose addresses are not made links."""
    return _ADDRESS.sub(lambda address: f"{address[0]}{_JOINER}", text)


def guard() -> None:
    """Make texts plain on their way to every window from now on; done once for a process."""
    if getattr(ScriptRunContext.enqueue, "makes_plain", False):
        return
    send = ScriptRunContext.enqueue

    def send_plain(context: ScriptRunContext, message: Any) -> None:
        if message.WhichOneof("type") == "delta":
            make_plain(message.delta, _open_texts())
        send(context, message)

    send_plain.makes_plain = True  # type: ignore[attr-defined]
    setattr(ScriptRunContext, "enqueue", send_plain)  # noqa: B010 - a method, put in another's place


def make_plain(message: Message, said: Iterable[str]) -> None:
    """Make the texts of a message of the framework plain, in place.

    Parameters
    ----------
    message
        Of any kind.
    said
        What the open plan says that could be read as markup, the longest first.
    """
    for field, value in message.ListFields():
        reads = field.name in _READ_AS_MARKUP and message.DESCRIPTOR.name not in _NOT_READ
        if field.type == field.TYPE_MESSAGE:
            for inner in value if field.is_repeated else [value]:
                make_plain(inner, said)
        elif field.name == "spec":
            setattr(message, field.name, _LINK_IN_CHART.sub("&lt;", value))
        elif reads and field.type == field.TYPE_STRING:
            if field.is_repeated:
                value[:] = [_plain(text, said) for text in value]
            else:
                setattr(message, field.name, _plain(value, said))


def _plain(text: str, said: Iterable[str]) -> str:
    """Return a text of a page made plain."""
    for each in said:
        text = text.replace(each, literal(each))
    return without_foreign_markup(text)


def _open_texts() -> tuple[str, ...]:
    """Return what the open plan says that could be read as markup."""
    try:
        kept, changes = st.session_state.get("kept"), st.session_state.get("changes", {})
    except Exception:  # a window that is being closed has no state any more
        return ()
    return _texts("" if kept is None else kept.text, repr(changes), tuple(_strings(changes)))


@lru_cache(maxsize=16)
def _texts(plan_text: str, _version: str, changed: tuple[str, ...]) -> tuple[str, ...]:
    """Return the texts of a plan and of what was changed that could be read as markup."""
    try:
        told = {*_strings(tomllib.loads(plan_text.replace("\r\n", "\n"))), *changed}
    except (ValueError, RecursionError):
        told = set(changed)
    marked = (text for text in told if len(text) > 1 and literal(text) != text)
    return tuple(sorted(marked, key=len, reverse=True))


def _strings(value: Any) -> Iterator[str]:
    """Yield every text in nested tables and lists."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from _strings(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from _strings(inner)
