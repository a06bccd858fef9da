"""How is the dashboard started, and on which files? Served to this computer only."""

from __future__ import annotations

import argparse
import socket
import sys
from dataclasses import dataclass
from pathlib import Path

from model.outlook.setting import keep_dropped_memory
from model.plan.shipped import demonstration_plan

APP = Path(__file__).resolve().parent / "app.py"


def main(arguments: list[str] | None = None) -> int:
    """Serve the dashboard until it is stopped; give the exit status."""
    parser = argparse.ArgumentParser(prog="python -m dashboard", description=__doc__)
    parser.add_argument("plan", type=Path)
    parser.add_argument("--record", type=Path)
    parser.add_argument("--port", type=int, default=8501)
    parser.add_argument("--no-browser", action="store_true")
    options = parser.parse_args(arguments)
    if _in_use(options.port):
        message = f"--port {options.port}: something else uses it. Allowed: a free port"
        sys.stderr.write(f"{message}, such as {options.port + 1}.\n")
        return 2
    keep_dropped_memory()
    sys.argv = ["streamlit", *_words(options)]
    sys.stdout.write(f"Seasons in Hand at http://127.0.0.1:{options.port} (Ctrl-C ends it)\n")
    sys.stdout.flush()
    from streamlit.web import cli

    return int(cli.main(standalone_mode=False) or 0)


def _words(options: argparse.Namespace) -> list[str]:
    """Lay out the server's command line: safety first, then what the pages read."""
    flags: dict[str, object] = {
        "server.address": "127.0.0.1",
        "server.port": options.port,
        "server.headless": options.no_browser,
        "server.fileWatcherType": "none",
        "server.maxUploadSize": 20,
        "server.showEmailPrompt": False,
        "runner.magicEnabled": False,
        "runner.postScriptGC": False,  # it would hold up each answer; Python collects when it must
        "browser.gatherUsageStats": False,
        "client.toolbarMode": "viewer",
    }
    words = ["run", str(APP)]
    words += [word for name, value in flags.items() for word in (f"--{name}", str(value).lower())]
    for host in ("localhost", "127.0.0.1"):
        words += ["--server.allowedHosts", host]
    words += ["--", "--plan", str(options.plan.resolve())]
    if options.record is not None:
        words += ["--record", str(options.record.resolve())]
    return words


def _in_use(port: int) -> bool:
    """Tell whether something listens on a port of this computer."""
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


@dataclass(frozen=True, slots=True)
class Files:
    """The files that the dashboard was opened on."""

    plan: Path
    record: Path | None


def files() -> Files:
    """Read the files from the words the dashboard was started with."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--plan", type=Path)
    parser.add_argument("--record", type=Path)
    options, _ = parser.parse_known_args(sys.argv[1:])
    return Files(options.plan or demonstration_plan(), options.record)
