"""Who may speak with the dashboard, and what may its pages load?

The pages are for this computer (or the one address that the person named). A request must be for
that host and port: a page of another site that had its own name lead here is refused. Whatever
changes something, and the connection a page keeps open, must say that it comes from a page served
here: scheme, host and port, all three; one that says nothing is refused too.

Every answer tells the browser what its page may load: from here, and from nowhere else. The one
script that stands in the framework's page is known by its hash; nothing may be made a program of.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

READING: Final = ("GET", "HEAD")
"""What changes nothing."""

_INLINE_SCRIPT: Final = re.compile(rb"<script(?![^>]*\ssrc=)[^>]*>(.*?)</script>", re.DOTALL)
_POLICY_VIOLATION: Final = 1008
"""The code with which a connection is refused (RFC 6455, section 7.4.1)."""


class Gate:
    """Let through what comes from the dashboard's own pages; the framework comes after it.

    Parameters
    ----------
    app
        What answers those let through.
    hosts
        Names by which the dashboard is reached, with the port, such as 127.0.0.1:8501.
    policy
        What pages may load; see `page_policy`.
    """

    def __init__(self, app: ASGIApp, *, hosts: Iterable[str], policy: str) -> None:
        self._app = app
        self._hosts = frozenset(hosts)
        self._headers = {
            "content-security-policy": policy,
            "x-content-type-options": "nosniff",
            "x-frame-options": "DENY",
            "referrer-policy": "no-referrer",
            "cross-origin-opener-policy": "same-origin",
            "cross-origin-resource-policy": "same-origin",
        }

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request or connection."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
        elif self._may_enter(scope):
            await self._app(scope, receive, self._with_policy(send))
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": _POLICY_VIOLATION})
        else:
            await _forbid(send)

    def _may_enter(self, scope: Scope) -> bool:
        """Return whether a request is for this host and from a page of it."""
        headers = Headers(scope=scope)
        hosts, origins = headers.getlist("host"), headers.getlist("origin")
        if len(hosts) != 1 or hosts[0].lower() not in self._hosts or len(origins) > 1:
            return False
        if not origins:
            return scope["type"] == "http" and scope["method"] in READING
        return origins[0].lower() == f"http://{hosts[0].lower()}"

    def _with_policy(self, send: Send) -> Send:
        """Return a way to send that adds what pages may load."""

        async def send_with_policy(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(self._headers)
            await send(message)

        return send_with_policy


def page_policy(page: bytes, hosts: Iterable[str]) -> str:
    """Return what pages may load, as a Content-Security-Policy says it (W3C, level 3).

    Parameters
    ----------
    page
        The framework's page: scripts that stand in it are known by their hashes.
    hosts
        To which a page may connect, with the port.
    """
    hashes = (
        base64.b64encode(hashlib.sha256(script).digest()).decode()
        for script in _INLINE_SCRIPT.findall(page)
    )
    connections = " ".join(f"ws://{host}" for host in sorted(hosts))
    rules = {
        "default-src": "'none'",
        "script-src": " ".join(["'self'", "blob:", *(f"'sha256-{each}'" for each in hashes)]),
        "style-src": "'self' 'unsafe-inline'",
        "img-src": "'self' data: blob:",
        "font-src": "'self' data:",
        "media-src": "'self' blob:",
        "connect-src": f"'self' {connections}",
        "worker-src": "'self' blob:",
        "manifest-src": "'self'",
        "frame-src": "'none'",
        "object-src": "'none'",
        "base-uri": "'none'",
        "form-action": "'none'",
        "frame-ancestors": "'none'",
    }
    return "; ".join(f"{name} {allowed}" for name, allowed in rules.items())


def framework_page() -> bytes:
    """Return the page that the framework serves."""
    import streamlit

    return (Path(streamlit.__file__).parent / "static" / "index.html").read_bytes()


async def _forbid(send: Send) -> None:
    """Refuse a request."""
    headers = [(b"content-type", b"text/plain; charset=utf-8")]
    await send({"type": "http.response.start", "status": 403, "headers": headers})
    words = b"Only pages of this dashboard may ask this.\n"
    await send({"type": "http.response.body", "body": words})
