"""Only this dashboard's own pages may ask it for anything, and they load from here alone.

The rules are the web's own: Host and Origin as RFC 9110 and RFC 6454 say them, what a page may load
as the W3C's Content Security Policy level 3 says it.
"""

from __future__ import annotations

import argparse
import asyncio
import base64
import hashlib
import http.client
import re
import socket
import urllib.parse
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import pytest

from dashboard.gate import Gate, framework_page, page_policy
from dashboard.launch import hosts_of, main, own_address
from tests.served import served

HOST = "127.0.0.1:8501"
OWN, OTHER = f"http://{HOST}", "http://evil.example"

ENTERS = [
    # kind, method, host, origin, whether it may enter
    ("http", "GET", HOST, None, True),
    ("http", "GET", "localhost:8501", None, True),
    ("http", "GET", HOST, OWN, True),
    ("http", "POST", HOST, OWN, True),
    ("websocket", "", HOST, OWN, True),
    ("http", "GET", HOST, OTHER, False),
    ("http", "POST", HOST, None, False),
    ("http", "PUT", HOST, OTHER, False),
    ("http", "GET", "evil.example", None, False),
    ("http", "GET", "127.0.0.1", None, False),
    ("http", "GET", "127.0.0.1:80", None, False),
    ("http", "GET", None, None, False),
    ("websocket", "", HOST, None, False),
    ("websocket", "", HOST, OTHER, False),
    ("websocket", "", HOST, "null", False),
    ("websocket", "", HOST, f"https://{HOST}", False),
    ("websocket", "", HOST, "http://127.0.0.1:8502", False),
    ("websocket", "", HOST, "http://localhost:8501", False),
    ("websocket", "", "evil.example:8501", "http://evil.example:8501", False),
]


def asked(kind: str, method: str, host: str | None, origin: str | None) -> list[dict[str, object]]:
    """Return what is sent back by a gate before an app that lets everybody in."""
    headers = [(b"host", host.encode())] if host else []
    headers += [(b"origin", origin.encode())] if origin else []
    scope = {"type": kind, "method": method, "headers": headers, "path": "/"}
    sent: list[dict[str, object]] = []

    async def app(scope: object, receive: object, send: object) -> None:
        started = {"type": "http.response.start", "status": 200, "headers": []}
        await send(started if kind == "http" else {"type": "websocket.accept"})  # type: ignore[operator]

    async def send(message: dict[str, object]) -> None:
        sent.append(message)

    gate = Gate(app, hosts=hosts_of("127.0.0.1", 8501), policy="default-src 'none'")
    with ThreadPoolExecutor(1) as apart:  # a browser of other tests may keep this thread's loop
        apart.submit(lambda: asyncio.run(gate(scope, None, send))).result()  # type: ignore[arg-type]
    return sent


@pytest.mark.parametrize(("kind", "method", "host", "origin", "enters"), ENTERS)
def test_gate_when_asked_then_only_own_pages_enter(
    kind: str, method: str, host: str | None, origin: str | None, enters: bool
) -> None:
    """Scheme, host and port must all be those of the page; who says nothing may only read."""
    first = asked(kind, method, host, origin)[0]
    if kind == "websocket":
        assert first["type"] == ("websocket.accept" if enters else "websocket.close")
    else:
        assert first["status"] == (200 if enters else 403)


def test_gate_when_it_answers_then_it_says_what_the_page_may_load() -> None:
    """The policy stands in every answer."""
    headers = dict(asked("http", "GET", HOST, None)[0]["headers"])  # type: ignore[call-overload]
    assert headers[b"content-security-policy"] == b"default-src 'none'"
    assert headers[b"x-frame-options"] == b"DENY"


def test_policy_when_made_then_nothing_from_elsewhere_and_no_program_from_text() -> None:
    """Only this machine is named, nothing is evaluated, and the one script is known by its hash."""
    policy = page_policy(b"<script>\n one()\n</script><script src='a.js'></script>", [HOST])
    rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
    digest = base64.b64encode(hashlib.sha256(b"\n one()\n").digest()).decode()
    assert rules["script-src"] == f"'self' blob: 'sha256-{digest}'"
    assert rules["default-src"] == "'none'"
    assert "unsafe-eval" not in policy
    named = set(re.findall(r"[a-z]+://[^ ;]+", policy))
    assert named == {f"ws://{HOST}"}


def test_policy_when_of_the_frameworks_page_then_each_of_its_scripts_is_known() -> None:
    """A newer framework with another script would be noticed here, not by a blank page."""
    inline = re.findall(rb"<script>(.*?)</script>", framework_page(), re.DOTALL)
    assert inline
    for script in inline:
        digest = base64.b64encode(hashlib.sha256(script).digest()).decode()
        assert f"'sha256-{digest}'" in page_policy(framework_page(), [HOST])


@pytest.mark.parametrize("text", ["0.0.0.0", "::", "everywhere", "192.168.1.300", ""])
def test_address_when_it_is_none_or_stands_for_all_then_it_is_refused(text: str) -> None:
    """Nobody opens every address of a computer without saying which."""
    with pytest.raises(argparse.ArgumentTypeError):
        own_address(text)


def test_address_when_others_can_reach_it_then_it_says_what_it_opens_before_it_does(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is opened, to whom, and that there is no password, stands before anything listens."""
    said: list[str] = []
    monkeypatch.setattr("dashboard.launch._in_use", lambda *_: False)
    monkeypatch.setattr(
        "dashboard.launch._serve", lambda *_: said.append(" ".join(capsys.readouterr().err.split()))
    )
    assert main(["plan.toml", "--address", "192.168.1.20", "--port", "8600"]) == 0
    assert main(["plan.toml"]) == 0
    assert "192.168.1.20, port 8600" in said[0]
    assert "read and change your plans, figures, debts and diary" in said[0]
    assert "no password" in said[0]
    assert said[1] == ""


@pytest.fixture(scope="module", name="address")
def _address() -> Iterator[str]:
    """Start the dashboard as a user does."""
    with served() as dashboard:
        yield dashboard.address.removeprefix("http://")


def answer(address: str, method: str, path: str, **headers: str) -> int:
    """Return the status with which the dashboard answers."""
    connection = http.client.HTTPConnection(address, timeout=20)
    connection.putrequest(method, path, skip_host=True)
    for name, value in headers.items():
        connection.putheader(name.replace("_", "-"), value)
    connection.endheaders()
    status = connection.getresponse().status
    connection.close()
    return status


UPGRADE = {
    "Connection": "Upgrade",
    "Upgrade": "websocket",
    "Sec_WebSocket_Version": "13",
    "Sec_WebSocket_Key": "dGhlIHNhbXBsZSBub25jZQ==",  # the example of RFC 6455, section 1.3
}


def test_dashboard_when_it_runs_then_foreign_hosts_and_origins_are_refused(address: str) -> None:
    """The whole of it, through the server: pages, health and the connection that stays open."""
    own, port = f"http://{address}", urllib.parse.urlsplit(f"//{address}").port
    assert answer(address, "GET", "/", Host=address) == 200
    assert answer(address, "GET", "/", Host=f"localhost:{port}") == 200
    assert answer(address, "GET", "/", Host=f"evil.example:{port}") == 403
    assert answer(address, "GET", "/_stcore/health", Host=address, Origin=OTHER) == 403
    stream = "/_stcore/stream"
    assert answer(address, "GET", stream, Host=address, Origin=own, **UPGRADE) == 101
    assert answer(address, "GET", stream, Host=address, **UPGRADE) == 403
    assert answer(address, "GET", stream, Host=address, Origin=OTHER, **UPGRADE) == 403
    assert (
        answer(address, "GET", stream, Host=address, Origin="http://127.0.0.1:1", **UPGRADE) == 403
    )


def test_dashboard_when_it_runs_then_it_listens_on_this_computer_alone(address: str) -> None:
    """Another address of the same computer finds nobody there."""
    port = urllib.parse.urlsplit(f"//{address}").port
    with socket.socket() as probe:
        probe.settimeout(5)
        assert probe.connect_ex(("127.0.0.2", port)) != 0
