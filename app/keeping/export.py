"""The whole shop in one file, for leaving: written as it is read, however large the shop is."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo
from zoneinfo import ZoneInfo

from sqlalchemy import func
from sqlalchemy import select as select_columns
from sqlmodel import Session, col, select

from app.config import Settings
from app.db import Database, metadata, now
from app.keeping.export_readme import MISSING, README
from app.models.head import Head
from app.models.job import Job
from app.models.photo import Photo
from app.models.sheet import Sheet
from app.models.shop import Shop
from app.pictures import file_of
from app.queries.exported import exported_lists
from app.queries.plain_rows import as_plain, names_of_people, rows_of
from app.queries.spreadsheet import BYTE_ORDER_MARK, csv_lines
from app.services.write import log_head

# What proves a person or a program, and what searching makes anew from the rest.
LEFT_OUT = frozenset({"api_key", "sign_in", "pin_try", "search_key", "job_words"})
ROWS_AT_ONCE = 1000
BYTES_AT_ONCE = 1 << 20
MOST_NAMED = 100

Told = Callable[[str, int, int], None]


class ExportFault(RuntimeError):
    """No export was written; the message says why."""


@dataclass(frozen=True, slots=True)
class Exported:
    """The file that was written, and what it holds."""

    path: Path
    size: int
    rows: int
    sheets: int
    pictures: int
    missing: int


def export_shop(database: Database, settings: Settings, to: Path, told: Told) -> Exported:
    """Write everything of one moment to `to`; `told` hears what is written and how far it is.

    What was begun and not finished is taken away again.
    """
    if to.exists():
        raise ExportFault(f"{to} is there already: choose a name that is free")
    if not to.parent.is_dir():
        raise ExportFault(f"The folder {to.parent} is not there")
    part = to.with_name(f".{to.name}-{os.getpid()}.part")
    try:
        with database.read() as session, _Writer(part) as writer:
            found = _Export(session, settings, writer, told).write()
        part.replace(to)
    finally:
        part.unlink(missing_ok=True)
    return Exported(to, to.stat().st_size, *found)


class _Writer:
    """A zip under way with the hash of every file in it; nothing of them stays in memory."""

    def __init__(self, path: Path) -> None:
        self._zip = ZipFile(path, "w", ZIP_DEFLATED, compresslevel=6)
        # Closed with the zip, at the end of the block that writes it.
        self._sums: IO[str] = tempfile.TemporaryFile("w+", encoding="utf-8")  # noqa: SIM115
        self._at = now().timetuple()[:6]

    def __enter__(self) -> _Writer:
        return self

    def __exit__(self, *_: object) -> None:
        self._sums.close()
        self._zip.close()

    @contextmanager
    def entry(self, name: str, *, packed: bool = True) -> Iterator[Callable[[bytes], None]]:
        """One file of the zip, to be written piece by piece."""
        info = ZipInfo(name, self._at)
        info.compress_type = ZIP_DEFLATED if packed else ZIP_STORED
        info.external_attr = 0o644 << 16
        mark = hashlib.sha256()
        with self._zip.open(info, "w", force_zip64=True) as out:

            def write(piece: bytes) -> None:
                mark.update(piece)
                out.write(piece)

            yield write
        self._sums.write(f"{mark.hexdigest()}  {name}\n")

    def put(self, name: str, pieces: Iterable[bytes], *, packed: bool = True) -> None:
        """One file from its pieces."""
        with self.entry(name, packed=packed) as write:
            for piece in pieces:
                write(piece)

    def manifest(self, name: str) -> None:
        """The hashes of all files before it."""
        self._sums.flush()
        self._sums.seek(0)
        with self._zip.open(ZipInfo(name, self._at), "w", force_zip64=True) as out:
            while piece := self._sums.read(BYTES_AT_ONCE):
                out.write(piece.encode())


class _Export:
    def __init__(self, session: Session, settings: Settings, writer: _Writer, told: Told) -> None:
        self.session = session
        self.photos = settings.photos
        self.writer = writer
        self.told = told
        self.people = names_of_people(session)
        self.done = 0
        self.about = sum(self._newest(name) for name in self._tables()) + 2 * self._newest("sheet")
        self.about += self._newest("photo")

    def write(self) -> tuple[int, int, int, int]:
        rows = sum(self._table(name) for name in self._tables())
        self._lists()
        sheets = self._sheets()
        pictures, missing = self._pictures()
        self._readme(missing)
        self.writer.manifest("MANIFEST.sha256")
        self.told("finished", self.about, self.about)
        return rows, sheets, pictures, len(missing)

    def _tables(self) -> list[str]:
        return [table.name for table in metadata.sorted_tables if table.name not in LEFT_OUT]

    def _newest(self, name: str) -> int:
        # Counting millions of rows takes seconds; ids are never reused, so the newest says enough.
        newest = func.coalesce(func.max(metadata.tables[name].c.id), 0)
        return int(self.session.execute(select_columns(newest)).scalar_one())

    def _step(self, words: str, count: int) -> None:
        self.done += count
        self.told(words, min(self.done, self.about), self.about)

    def _table(self, name: str) -> int:
        written = 0
        query = rows_of(name).execution_options(yield_per=ROWS_AT_ONCE)
        with self.writer.entry(f"records/{name}.jsonl") as write:
            for some in self.session.execute(query).partitions(ROWS_AT_ONCE):
                lines = [
                    json.dumps(row, ensure_ascii=False, separators=(",", ":")) + "\n"
                    for row in as_plain(name, some, self.people)
                ]
                write("".join(lines).encode())
                written += len(lines)
                self._step(f"records, {name.replace('_', ' ')}", len(lines))
        return written

    def _lists(self) -> None:
        shop = self.session.get_one(Shop, 1)
        zone = ZoneInfo(shop.zone)
        today = datetime.now(zone).date()
        for table in exported_lists(self.session, zone, today):
            with self.writer.entry(f"lists/{table.name}.csv") as write:
                write(BYTE_ORDER_MARK.encode())
                for line in csv_lines(table):
                    write(line.encode())
            self._step(f"lists, {table.name}", 0)

    def _sheets(self) -> int:
        written, after = 0, 0
        query = (
            select(Sheet, Job.number, Head.name)
            .join(Job, col(Job.id) == col(Sheet.job_id))
            .outerjoin(Head, col(Head.id) == col(Sheet.head_id))
            .order_by(col(Sheet.id))
            .limit(50)
        )
        while some := self.session.exec(query.where(col(Sheet.id) > after)).all():
            for sheet, number, head in some:
                told = "-".join(filter(None, [sheet.kind.value, _plain(head or "")]))
                name = f"sheets/{number}/{told}-{sheet.rev}-{sheet.id}.html"
                self.writer.put(name, [sheet.html.encode()])
                after = sheet.id
            written += len(some)
            self.session.expunge_all()
            self._step("issued sheets", 2 * len(some))
        return written

    def _pictures(self) -> tuple[int, list[str]]:
        written, missing = 0, []
        query = select(Photo.sha256).distinct().order_by(col(Photo.sha256))
        for digest in self.session.exec(query.execution_options(yield_per=ROWS_AT_ONCE)):
            file = file_of(self.photos, digest)
            try:
                with file.open("rb") as source:
                    self.writer.put(f"photos/{digest}.jpg", _pieces(source), packed=False)
                written += 1
            except FileNotFoundError:
                missing.append(digest)
            self._step("photos", 1)
        return written, missing

    def _readme(self, missing: list[str]) -> None:
        shop = self.session.get_one(Shop, 1)
        told = ""
        if missing:
            names = "\n".join(f"    {digest}" for digest in missing[:MOST_NAMED])
            told = MISSING.format(count=len(missing), names=names)
        text = README.format(
            shop=shop.name,
            at=f"{now():%Y-%m-%d %H:%M}",
            currency=shop.currency,
            head=log_head(self.session),
            missing=told,
        )
        self.writer.put("README.txt", [text.replace("\n", "\r\n").encode()])


def _pieces(source: IO[bytes]) -> Iterator[bytes]:
    while piece := source.read(BYTES_AT_ONCE):
        yield piece


def _plain(name: str) -> str:
    """A head's name as a part of a file's name on any system."""
    return "".join(letter if letter.isalnum() else "-" for letter in name)[:40].strip("-").lower()
