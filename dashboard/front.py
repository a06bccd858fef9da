"""How does a page open by its address: today's addresses, and those of version 0.1?

The framework finds its server by trying addresses below that of the page, and logs an error for
each that is not there. Its own page is served here with the one line that names the server. An
address that pages had before leads to the page that took their place.
"""

from __future__ import annotations

from typing import Final

from starlette.types import ASGIApp, Receive, Scope, Send

SERVER_NAMED: Final = b"<script>window.__streamlit={BACKEND_BASE_URL:location.origin}</script>"
"""Names the server of a page to the framework: that which the page came from."""

MOVED: Final = {
    "water_ahead": "this_season",
    "plant_or_hold": "this_season",
    "month_by_month": "dry_years",
    "strategies": "ways_compared",
    "trust": "how_it_has_done",
    "valley_and_record": "our_valley",
    "plans": "plans_and_diary",
    "diary": "plans_and_diary",
}
"""Pages of version 0.1, and those that took their place."""

PAGES: Final = frozenset(
    {*MOVED.values(), "many_farms", "our_farm", "today", "money", "papers", "record", ""},
)


class Front:
    """Answer for the addresses of pages; the framework answers for the rest.

    Parameters
    ----------
    app
        What comes after it.
    page
        The framework's page, as `with_server_named` made it.
    """

    def __init__(self, app: ASGIApp, *, page: bytes) -> None:
        self._app = app
        self._page = page

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        name = scope["path"].strip("/") if scope["type"] == "http" else None
        if name in MOVED:
            asked = scope["query_string"]
            place = f"/{MOVED[name]}".encode() + (b"?" + asked if asked else b"")
            await _answer(send, 308, [(b"location", place)], b"")
        elif name in PAGES:
            headers = [(b"content-type", b"text/html; charset=utf-8")]
            await _answer(send, 200, [*headers, (b"cache-control", b"no-cache")], self._page)
        else:
            await self._app(scope, receive, send)


def with_server_named(page: bytes) -> bytes:
    """Return the framework's page with the line that names its server, before anything is run.

    Examples
    --------
    >>> with_server_named(b"<html><head><title>x</title></head></html>")[12:32]
    b'<script>window.__str'
    """
    before, head, after = page.partition(b"<head>")
    return before + head + SERVER_NAMED + after


async def _answer(send: Send, status: int, headers: list[tuple[bytes, bytes]], body: bytes) -> None:
    """Send an answer."""
    length = (b"content-length", str(len(body)).encode())
    await send({"type": "http.response.start", "status": status, "headers": [*headers, length]})
    await send({"type": "http.response.body", "body": body})
