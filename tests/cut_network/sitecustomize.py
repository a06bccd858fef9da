"""Cut the network for every Python program that finds this folder on its path.

Python imports a module of this name by itself as it starts. Whoever reaches for another computer,
or asks for the address of one, is told no, and the try is an error that fails its test.
"""

from __future__ import annotations

import sys

HERE = ("127.", "::1", "localhost")
ASKS = ("socket.getaddrinfo", "socket.gethostbyname", "socket.gethostbyaddr")


class NetworkIsCutError(RuntimeError):
    """Something reached for another computer."""


def _refuse(event: str, details: tuple[object, ...]) -> None:
    """Refuse to reach beyond this computer."""
    if event in ("socket.connect", "socket.sendto"):
        address = details[1]
        host = str(address[0]) if isinstance(address, tuple) else ""  # else a socket of files
    elif event in ASKS:
        host = str(details[0] or "")
    else:
        return
    if host and not host.startswith(HERE):
        raise NetworkIsCutError(f"{event}: {host}")


sys.addaudithook(_refuse)
