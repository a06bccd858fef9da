"""How is the dashboard started, on which files, and for whom?

It is served to this computer, or to the one address that is named (`gate`).
"""

from __future__ import annotations

import argparse
import ipaddress
import socket
import sys
import threading
import webbrowser
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from model.files import clear_leftovers
from model.keeping.folder import data_folder, plans_folder
from model.outlook.setting import keep_dropped_memory
from model.plan.shipped import demonstration_plan

APP: Final = Path(__file__).resolve().parent / "app.py"

THIS_COMPUTER: Final = "127.0.0.1"

_BROWSER_AFTER_S: Final = 1.0
_MOST_UPLOAD_MB: Final = 20

OPENED: Final = """\
Seasons in Hand will answer at {address}, port {port}, and not to this computer alone.
Whoever can reach that address can read and change your plans, figures, debts and diary: there is no
password, and what is sent can be read on the way. Ctrl-C ends it.
"""


@dataclass(frozen=True, slots=True)
class Files:
    """The files that the dashboard was opened on."""

    plan: Path
    record: Path | None
    book: Path | None  # the folder that `seasons portfolio` wrote


def files() -> Files:
    """Return the files that the words name with which the dashboard was started."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--plan", type=Path)
    parser.add_argument("--record", type=Path)
    parser.add_argument("--book", type=Path)
    options, _ = parser.parse_known_args(sys.argv[1:])
    return Files(options.plan or demonstration_plan(), options.record, options.book)


def main(arguments: list[str] | None = None) -> int:
    """Serve the dashboard until it is stopped; return the exit status."""
    parser = argparse.ArgumentParser(prog="python -m dashboard", description=__doc__)
    parser.add_argument("plan", type=Path)
    parser.add_argument("--record", type=Path)
    parser.add_argument("--book", type=Path)
    parser.add_argument("--port", type=int, default=8501)
    parser.add_argument("--address", type=own_address, default=THIS_COMPUTER)
    parser.add_argument("--no-browser", action="store_true")
    options = parser.parse_args(arguments)
    if _in_use(options.address, options.port):
        message = f"--port {options.port}: something else uses it. Allowed: a free port"
        sys.stderr.write(f"{message}, such as {options.port + 1}.\n")
        return 2
    if not ipaddress.ip_address(options.address).is_loopback:
        sys.stderr.write(OPENED.format(address=options.address, port=options.port))
    page = f"http://{_written(options.address)}:{options.port}"
    sys.stdout.write(f"Seasons in Hand at {page} (Ctrl-C ends it)\n")
    sys.stdout.flush()
    clear_leftovers(plans_folder(data_folder()))
    keep_dropped_memory()
    _serve(options, page)
    return 0


def own_address(text: str) -> str:
    """Return an address of this computer, as the person named it.

    Raises
    ------
    argparse.ArgumentTypeError
        It is no address, or stands for all of them.

    Examples
    --------
    >>> own_address("127.0.0.1")
    '127.0.0.1'
    """
    try:
        address = ipaddress.ip_address(text)
    except ValueError as error:
        message = f"{text} is not an address: give one of this computer's, such as 192.168.1.20"
        raise argparse.ArgumentTypeError(message) from error
    if address.is_unspecified:
        message = f"{text} stands for every address: give the one that others are to reach"
        raise argparse.ArgumentTypeError(message)
    return str(address)


def hosts_of(address: str, port: int) -> tuple[str, ...]:
    """Return the hosts by which pages on an address are asked for.

    Examples
    --------
    >>> hosts_of("127.0.0.1", 8501), hosts_of("192.168.1.20", 8501)
    (('127.0.0.1:8501', 'localhost:8501'), ('192.168.1.20:8501',))
    """
    names = [_written(address)]
    if ipaddress.ip_address(address).is_loopback:
        names.append("localhost")
    return tuple(f"{name}:{port}" for name in names)


def _serve(options: argparse.Namespace, page: str) -> None:
    """Serve the pages behind the gate until the process is told to end."""
    from starlette.middleware import Middleware
    from streamlit.starlette import App

    from dashboard.front import Front, with_server_named
    from dashboard.gate import Gate, framework_page, page_policy

    hosts = hosts_of(options.address, options.port)
    page_served = with_server_named(framework_page())
    policy = page_policy(page_served, hosts)
    sys.argv = [str(APP), "--plan", str(options.plan.resolve())]
    if options.record is not None:
        sys.argv += ["--record", str(options.record.resolve())]
    if options.book is not None:
        sys.argv += ["--book", str(options.book.resolve())]
    before = [Middleware(Gate, hosts=hosts, policy=policy), Middleware(Front, page=page_served)]
    app = App(APP, middleware=before)
    if not options.no_browser:
        opening = threading.Timer(_BROWSER_AFTER_S, webbrowser.open, [page])
        opening.daemon = True
        opening.start()
    app.run(config=_settings(options))


def _settings(options: argparse.Namespace) -> dict[str, object]:
    """Return the server's settings, safety first: no home folder's settings undo them."""
    return {
        "server.address": options.address,
        "server.port": options.port,
        "server.allowedHosts": ["localhost", "127.0.0.1", options.address],
        "server.headless": True,
        "server.fileWatcherType": "none",
        "server.maxUploadSize": _MOST_UPLOAD_MB,
        "server.showEmailPrompt": False,
        "server.enableXsrfProtection": True,
        "server.enableCORS": True,
        "server.enableStaticServing": True,
        "runner.magicEnabled": False,
        "runner.postScriptGC": False,  # it would hold up each answer; Python collects when it must
        "browser.gatherUsageStats": False,
        "browser.serverAddress": options.address,
        "client.toolbarMode": "viewer",
        "client.disableDataExport": True,
        "logger.hideWelcomeMessage": True,
    }


def _written(address: str) -> str:
    """Return an address as it stands in the address of a page."""
    return f"[{address}]" if ":" in address else address


def _in_use(address: str, port: int) -> bool:
    """Return whether something listens on a port of this computer."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    with socket.socket(family) as probe:
        return probe.connect_ex((address, port)) == 0
