"""Copies of the database in a folder, as their names tell: when, why, over which log."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

# seatwright-20261125T175447123456Z-day-3f9a0c11d2e4.sqlite3
_NAME = re.compile(
    r"^seatwright-(\d{8}T\d{12})Z-([a-z0-9-]+)-([0-9a-f]{12}|empty|nolog)\.(sqlite3|pgdump)$"
)


@dataclass(frozen=True, slots=True)
class Copy:
    """One copy: its file, its moment, why it was made, and the log's head at that moment."""

    path: Path
    at: datetime
    why: str
    head: str

    @property
    def is_sqlite(self) -> bool:
        """A SQLite file."""
        return self.path.suffix == ".sqlite3"

    @property
    def is_before_upgrade(self) -> bool:
        """Of the database alone, when the program was about to change it."""
        return self.why.startswith("before-")

    @property
    def vouches(self) -> bool:
        """Its name holds the head of a log."""
        return self.head not in ("empty", "nolog", "")


def copy_at(path: Path) -> Copy:
    """The copy in this file; one that was renamed is read all the same."""
    at = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    return copy_named(path) or Copy(path, at, "", "")


def copy_named(path: Path) -> Copy | None:
    """What a copy's name tells; the file itself is not touched."""
    found = _NAME.match(path.name)
    if found is None:
        return None
    at = datetime.strptime(found[1], "%Y%m%dT%H%M%S%f").replace(tzinfo=UTC)
    return Copy(path, at, found[2], found[3])


def copies_in(folder: Path) -> list[Copy]:
    """The copies in a folder, the oldest first; none when it is not there."""
    try:
        names = [path for path in folder.iterdir() if _NAME.match(path.name)]
    except OSError:
        return []
    return sorted((copy_at(path) for path in names), key=lambda copy: (copy.at, copy.path.name))
