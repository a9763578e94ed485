"""Ten thousand jobs: searching, reprinting and tracing look at a page's worth of them."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event
from sqlmodel import col, select

from app.calc.trace import sha256
from app.db import Database
from app.forms.find import FindForm
from app.migrate import copy_sqlite
from app.models.job import Job
from app.models.port_pass import Cut, PortPass
from app.models.ring import RingSet
from app.models.setting import Setting
from app.models.sheet import Sheet
from app.queries.counter import find_jobs
from app.queries.find import find
from app.queries.job_words import texts_of
from app.queries.papers import papers_of
from app.queries.trace import TraceOf, trace
from app.services.sheets import issue_sheet
from app.web.sheet_page import drawer
from app.workflow.job_words import all_words
from app.workflow.kinds import SheetKind
from tests.bench.size import make_sqlite, start_from
from tests.databases import opened
from tests.services.cast import new_cast
from tests.services.finished import finish_head
from tests.services.floor import START, Floor

JOBS = 10_000
MOST_STATEMENTS = 16
# What search, reprint and trace read; the log, readings and results are reached by job or by id.
READ = frozenset(
    {"job", "head", "port", "port_pass", "ring_set", "ring", "ring_in", "setting", "cut", "sheet"}
)
TODAY = date(2026, 3, 20)
# An index of few rows may be read from end to end.
_WALK = re.compile(r"^SCAN (?P<table>\w+)(?! USING INDEX ix_job_with_)")


@dataclass
class Asked:
    """The statements of one page, and which tables each would search through."""

    file: Path
    statements: list[tuple[str, Any]] = field(default_factory=list)

    @property
    def scans(self) -> set[str]:
        """Tables that grow with the shop and would be read from end to end."""
        found = set()
        with sqlite3.connect(self.file) as plain:
            for statement, values in self.statements:
                for *_, step in plain.execute(f"EXPLAIN QUERY PLAN {statement}", values):
                    told = _WALK.match(step)
                    if told and told["table"] in READ:
                        found.add(step)
        plain.close()
        return found


@dataclass
class LargeShop:
    """The shop of ten thousand jobs."""

    database: Database
    file: Path

    @contextmanager
    def asking(self) -> Iterator[Asked]:
        asked = Asked(self.file)

        def note(_connection, _cursor, statement, values, *_rest):  # type: ignore[no-untyped-def]
            asked.statements.append((statement, values))

        event.listen(self.database.engine, "before_cursor_execute", note)
        try:
            yield asked
        finally:
            event.remove(self.database.engine, "before_cursor_execute", note)


@pytest.fixture(scope="module")
def shop(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[LargeShop]:
    folder = tmp_path_factory.mktemp("large")
    seed, file = folder / "seed.sqlite3", folder / "seatwright.sqlite3"
    seed.write_bytes(sqlite_template.read_bytes())
    with opened(f"sqlite:///{seed}") as database:
        floor = Floor(database, new_cast(database), START)
        floor.lay_out()
        finish_head(floor)
        floor.hands.hand_over(floor.job, "Fern")
        with floor.hands.writing() as tx:
            issue_sheet(
                tx,
                SheetKind.RECORD,
                tx.session.get_one(Job, floor.job.id),
                floor.head,
                drawer("http://here"),
            )
        cutters = [floor.cutter.id]
        start = start_from(database, copy_sqlite(seed, folder, "one"), (cutters, cutters), READ)
    make_sqlite(start, file, JOBS, START)
