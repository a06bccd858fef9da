"""Which windows have the dashboard open now, and which are closed?

Told from the server's own connections: each run of a page notes its window's token under the
session that the server knows it by, and a window is open while its session is connected. One that
lost the server counts as closed until it is back. Windows of another server on the same folder are
not known, nor is any window where there is no server, as in tests of pages: they are offered as
left, which loses nothing, for a sitting that is gone on with is only copied.
"""

from __future__ import annotations

from threading import Lock
from typing import Final

MOST_KNOWN: Final = 500
"""Windows remembered; those that were used longest ago are forgotten beyond these."""


class Windows:
    """The token that each session of the server used last; safe to use from many threads."""

    def __init__(self) -> None:
        self._tokens: dict[str, str] = {}
        self._lock = Lock()

    def note(self, session: str, token: str) -> None:
        """Note that a session stands on a token now."""
        with self._lock:
            self._tokens.pop(session, None)
            self._tokens[session] = token
            while len(self._tokens) > MOST_KNOWN:
                del self._tokens[next(iter(self._tokens))]

    def tokens(self) -> dict[str, str]:
        """Give the tokens by session, that used last at the end."""
        with self._lock:
            return dict(self._tokens)


_WINDOWS: Final = Windows()
"""One list for all windows of the server: shared on purpose."""


def note(token: str) -> None:
    """Note that this window stands on a token."""
    session = _session()
    if session is not None:
        _WINDOWS.note(session, token)


def open_elsewhere() -> frozenset[str]:
    """Give the tokens of the other windows that are open on this server now."""
    own = _session()
    known = _WINDOWS.tokens().items()
    return frozenset(token for session, token in known if session != own and _connected(session))


def _session() -> str | None:
    """Name this window's session, None where no page is being run."""
    from streamlit.runtime.scriptrunner import get_script_run_ctx

    context = get_script_run_ctx(suppress_warning=True)
    return None if context is None else context.session_id


def _connected(session: str) -> bool:
    """Tell whether the server has a session's window; False where there is no server."""
    from streamlit import runtime

    return runtime.exists() and runtime.get_instance().is_active_session(session) is True
