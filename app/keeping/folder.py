"""Where backups go: the folder that the owner chose, known again by a mark in it.

Pages never touch that folder: a network share that went away would hold them for minutes. What
they show is what the last backup wrote down in the data folder.
"""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path

from app.config import Settings

STATE = "backups.json"
MARK = "seatwright-backups-of.txt"


class FolderFault(RuntimeError):
    """The folder cannot take backups; the message says why, and finishes "The folder …"."""


@dataclass(frozen=True, slots=True)
class State:
    """What is known of this shop's backups without looking at their folder."""

    folder: str = ""  # as chosen; empty: the data folder's own
    at: str = ""  # when the newest good copy was made
    name: str = ""
    kept_in: str = ""
    head: str = ""
    size: int = 0
    pictures: int = 0
    fault: str = ""  # what went wrong at the last try; empty when nothing did
    fault_at: str = ""
    names: tuple[str, ...] = ()

    @property
    def made_at(self) -> datetime | None:
        """When the newest good copy was made."""
        return datetime.fromisoformat(self.at) if self.at else None

    @property
    def failed_at(self) -> datetime | None:
        """When the last try went wrong."""
        return datetime.fromisoformat(self.fault_at) if self.fault_at else None


def read_state(settings: Settings) -> State:
    """What is known; nothing, when nothing was ever written down or it cannot be read."""
    try:
        found = json.loads((settings.data / STATE).read_text(encoding="utf-8"))
        return State(**{**found, "names": tuple(found.get("names", ()))})
    except (OSError, ValueError, TypeError):
        return State()


def write_state(settings: Settings, state: State) -> None:
    """Whole or not at all."""
    part = settings.data / f".{STATE}-{os.getpid()}"
    part.write_text(json.dumps(asdict(state), ensure_ascii=False, indent=1), encoding="utf-8")
    part.replace(settings.data / STATE)


def choose_folder(settings: Settings, folder: str) -> None:
    """From the next backup on; an empty one is the data folder's own."""
    write_state(settings, replace(read_state(settings), folder=folder, fault="", fault_at=""))


def prepare_backup_folder(folder: Path, mark: str, settings: Settings) -> None:
    """Make the folder (its parent must be there), try to write in it, and leave the shop's mark."""
    data = settings.data.resolve()
    if not folder.is_absolute():
        raise FolderFault("must be written whole, from the disk on: /media/… or D:\\…")
    try:
        resolved = folder.resolve()
        if resolved == data or data in resolved.parents:
            raise FolderFault("is inside the data folder: choose one on another disk")
        if not resolved.parent.is_dir():
            raise FolderFault(f"cannot be made: {resolved.parent} is not there")
        resolved.mkdir(exist_ok=True)
        marked = resolved / MARK
        if marked.exists() and _mark_in(resolved) != mark:
            raise FolderFault("keeps another shop's backups: choose a folder of its own")
        marked.write_text(mark + "\n", encoding="ascii")
    except OSError as error:
        raise FolderFault(f"cannot be written to: {error.strerror or error}") from error


def look_at_folder(folder: Path, mark: str) -> None:
    """Whether the chosen folder is there, and is the one that was chosen."""
    try:
        if not folder.is_dir():
            raise FolderFault("is not there: plug its disk in, or see that its network share is up")
        if _mark_in(folder) != mark:
            raise FolderFault(
                "is there, but not as it was chosen: another disk may be plugged in; choose it "
                "again if it is the right one"
            )
    except OSError as error:
        raise FolderFault(f"cannot be read: {error.strerror or error}") from error


def is_same_disk(folder: Path, settings: Settings) -> bool:
    """Whether a folder lies on the disk of the records, and goes with it."""
    try:
        return folder.stat().st_dev == settings.data.stat().st_dev
    except OSError:
        return False


def _mark_in(folder: Path) -> str:
    try:
        return (folder / MARK).read_text(encoding="ascii", errors="replace").strip()
    except FileNotFoundError:
        return ""
