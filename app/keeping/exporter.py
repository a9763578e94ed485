"""An export begun from the owner's page: written by a process of its own, told of in a file.

Working millions of rows into text on a thread of the server would hold up every page meanwhile.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from app.config import Settings
from app.db import Database, now
from app.keeping.export import Exported, ExportFault, export_shop
from app.paths import HOME

STATE = "state.json"
TELL_EVERY_SECONDS = 0.5
# A process that has told nothing for this long is not there any more.
SILENT = timedelta(minutes=3)


@dataclass(frozen=True, slots=True)
class ExportState:
    """How the newest export stands."""

    name: str = ""
    began: str = ""
    told: str = ""  # when it last told how far it is
    words: str = ""
    done: int = 0
    about: int = 0
    size: int = 0
    rows: int = 0
    sheets: int = 0
    pictures: int = 0
    missing: int = 0
    fault: str = ""

    @property
    def is_finished(self) -> bool:
        """The file is there."""
        return self.size > 0

    @property
    def is_under_way(self) -> bool:
        """It is being written now."""
        if not self.began or self.is_finished or self.fault:
            return False
        return now() - datetime.fromisoformat(self.told) < SILENT

    @property
    def was_cut_off(self) -> bool:
        """It was begun, and whatever wrote it is gone."""
        return bool(self.began) and not (self.is_finished or self.fault or self.is_under_way)

    @property
    def began_at(self) -> datetime | None:
        """When it was asked for."""
        return datetime.fromisoformat(self.began) if self.began else None

    @property
    def percent(self) -> int:
        """Of about everything."""
        return 100 * self.done // self.about if self.about else 0


def exports_folder(settings: Settings) -> Path:
    """Where exports wait to be fetched."""
    return settings.data / "exports"


def read_export_state(settings: Settings) -> ExportState:
    """How the newest one stands; nothing, when there never was one."""
    try:
        text = (exports_folder(settings) / STATE).read_text(encoding="utf-8")
        return ExportState(**json.loads(text))
    except (OSError, ValueError, TypeError):
        return ExportState()


def finished_export(settings: Settings) -> Path | None:
    """The newest one's file, when it is there."""
    state = read_export_state(settings)
    file = exports_folder(settings) / state.name
    return file if state.is_finished and file.is_file() else None


def begin_export(settings: Settings, database: Database) -> subprocess.Popen[bytes]:
    """Begin one, in place of the one before."""
    remove_exports(settings)
    folder = exports_folder(settings)
    folder.mkdir(parents=True, exist_ok=True)
    began = now()
    name = f"seatwright-export-{began:%Y%m%dT%H%M%SZ}.zip"
    _write(settings, ExportState(name, began.isoformat(), began.isoformat(), "it begins"))
    url = database.url.render_as_string(hide_password=False)
    command = [sys.executable, "-m", "app", "export", str(folder / name), "--data"]
    return subprocess.Popen(
        [*command, str(settings.data), "--for-page"],
        env={**os.environ, "SEATWRIGHT_DATABASE_URL": url, "PYTHONPATH": str(HOME)},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def remove_exports(settings: Settings) -> None:
    """Take away what was written: it holds everything, and the records have it anyway."""
    folder = exports_folder(settings)
    for file in folder.glob("*.zip*") if folder.is_dir() else ():
        file.unlink(missing_ok=True)
    for file in folder.glob(".*.part") if folder.is_dir() else ():
        file.unlink(missing_ok=True)
    (folder / STATE).unlink(missing_ok=True)


def export_for_page(database: Database, settings: Settings, to: Path) -> Exported:
    """Write it, telling the page how far it is."""
    began = read_export_state(settings).began or now().isoformat()
    tell = _Teller(settings, to.name, began)
    try:
        made = export_shop(database, settings, to, tell)
    except (ExportFault, OSError) as fault:
        said = str(fault) if isinstance(fault, ExportFault) else fault.strerror or str(fault)
        tell.write(fault=said)
        raise
    tell.write(
        size=made.size,
        rows=made.rows,
        sheets=made.sheets,
        pictures=made.pictures,
        missing=made.missing,
    )
    return made


@dataclass
class _Teller:
    settings: Settings
    name: str
    began: str
    last: float = 0.0
    step: tuple[str, int, int] = field(default=("it begins", 0, 0))

    def __call__(self, words: str, done: int, about: int) -> None:
        self.step = (words, done, about)
        if time.monotonic() - self.last >= TELL_EVERY_SECONDS:
            self.write()

    def write(self, **more: object) -> None:
        words, done, about = self.step
        self.last = time.monotonic()
        state = {
            "name": self.name,
            "began": self.began,
            "told": now().isoformat(),
            "words": words,
            "done": done,
            "about": about,
        }
        _write(self.settings, ExportState(**{**state, **more}))  # type: ignore[arg-type]


def _write(settings: Settings, state: ExportState) -> None:
    """Whole or not at all."""
    folder = exports_folder(settings)
    part = folder / f".{STATE}-{os.getpid()}"
    part.write_text(json.dumps(asdict(state), ensure_ascii=False), encoding="utf-8")
    part.replace(folder / STATE)


def console_teller(say: Callable[[str], None]) -> Callable[[str, int, int], None]:
    """Tells a console each part once, and each tenth of a long one."""
    last: list[tuple[str, int]] = [("", -1)]

    def tell(words: str, done: int, about: int) -> None:
        tenth = 10 * done // about if about else 0
        if (words, tenth) != last[0]:
            last[0] = (words, tenth)
            say(f"{100 * done // about if about else 100:3} %  {words}")

    return tell
