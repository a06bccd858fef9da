"""Where does a person's own data live on this kind of computer?

The usual place of the system, or the folder that SEASONS_DATA names. Common practice, no source:
LOCALAPPDATA on Windows, Library/Application Support on macOS, XDG_DATA_HOME or ~/.local/share
elsewhere.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

FOLDER_NAME: Final = "seasons-in-hand"
OVERRIDE: Final = "SEASONS_DATA"
"""Environment variable: a folder of the person's own choice."""

PRIVATE_FOLDER: Final = 0o700
PRIVATE_FILE: Final = 0o600
OTHERS: Final = 0o077
"""Permissions, as POSIX has them."""


def data_folder(
    environment: Mapping[str, str] = os.environ,
    platform: str = sys.platform,
    home: Path | None = None,
) -> Path:
    """Return the data folder, whether or not it is there yet.

    Parameters
    ----------
    environment, platform, home
        Of this computer unless given.
    """
    if chosen := environment.get(OVERRIDE):
        return Path(chosen).expanduser()
    home = home or Path.home()
    if platform == "win32":
        return Path(environment.get("LOCALAPPDATA") or home / "AppData" / "Local") / FOLDER_NAME
    if platform == "darwin":
        return home / "Library" / "Application Support" / FOLDER_NAME
    return Path(environment.get("XDG_DATA_HOME") or home / ".local" / "share") / FOLDER_NAME


def plans_folder(folder: Path) -> Path:
    """Return the folder of plans and their records."""
    return folder / "plans"


def database_path(folder: Path) -> Path:
    """Return the place of the diary's database."""
    return folder / "diary.sqlite"


def make_private(folder: Path, environment: Mapping[str, str] = os.environ) -> None:
    """Make a folder that its owner alone can read, in a system that knows such folders.

    So are those above it that are made on the way, from the data folder down. One that is there
    already is made so where it is the system's usual place; a folder of the person's own choice
    keeps the permissions that they gave it.
    """
    usual, made = data_folder(environment), not folder.exists()
    for place in reversed([each for each in (folder, *folder.parents) if not each.exists()]):
        private = place == folder or usual in (place, *place.parents)
        place.mkdir(mode=PRIVATE_FOLDER if private else 0o777, exist_ok=True)
    ours = not environment.get(OVERRIDE) and folder in (usual, plans_folder(usual))
    if os.name == "posix" and (made or ours) and folder.stat().st_mode & OTHERS:
        with contextlib.suppress(OSError):  # another's folder, shared with them
            folder.chmod(PRIVATE_FOLDER)
