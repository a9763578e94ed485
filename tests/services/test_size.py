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
    with opened(f"sqlite:///{file}") as database:
        yield LargeShop(database, file)


@pytest.mark.parametrize("typed", ["fern burnt", "seats", "quarry", "C2", "zzz", "Adjustable"])
def test_a_search_reads_a_page_of_jobs(shop: LargeShop, typed: str) -> None:
    form = FindForm({"q": typed})
    with shop.asking() as asked, shop.database.read() as session:
        found = find(session, form, TODAY)
    assert bool(found.lines) is (typed != "zzz")
    assert len(asked.statements) <= MOST_STATEMENTS
    assert asked.scans == set()


def test_the_jobs_that_came_back_are_found_without_looking_at_the_others(shop: LargeShop) -> None:
    with shop.asking() as asked, shop.database.read() as session:
        found = find(session, FindForm({"comeback": "yes"}), TODAY)
    assert found.lines
    assert all(line.job.comeback_of_id for line in found.lines)
    assert asked.scans == set()


def test_copied_jobs_are_found_by_what_they_hold(shop: LargeShop) -> None:
    with shop.database.read() as session:
        job = session.exec(select(Job).order_by(col(Job.id).desc()).limit(1)).one()
        texts = texts_of(session, [job.id])[job.id]
        kept = session.connection().exec_driver_sql(
            "SELECT words FROM job_words WHERE job_id = ?", (job.id,)
        )
        assert kept.scalar_one() == all_words(texts)


def test_an_old_sheet_is_found_and_printed_as_it_was_issued(shop: LargeShop) -> None:
    with shop.database.read() as session:
        oldest = session.exec(select(Sheet.job_id).order_by(col(Sheet.id)).offset(3).limit(1)).one()
        number = session.get_one(Job, oldest).number
    with shop.asking() as asked, shop.database.read() as session:
        [line] = find_jobs(session, number, TODAY).lines
        [paper] = papers_of(session, line.job)
        sheet = session.get_one(Sheet, paper.id)
    assert sha256(sheet.html) == paper.sha256
    assert number in sheet.html
    assert len(asked.statements) <= MOST_STATEMENTS
    assert asked.scans == set()


def _traced(shop: LargeShop) -> list[tuple[TraceOf, str]]:
    with shop.database.read() as session:
        setting = session.exec(select(Setting).order_by(col(Setting.id).desc()).limit(1)).one()
        lot = session.exec(select(RingSet.lot).order_by(col(RingSet.id).desc()).limit(1)).one()
        rule = session.exec(select(PortPass.rule_source).limit(1)).one()
    return [
        (TraceOf.LOT, lot),
        (TraceOf.CUTTER, str(setting.cutter_id)),
        (TraceOf.TIP, str(setting.tip_change_id)),
        (TraceOf.PILOT, str(setting.pilot_id)),
        (TraceOf.RULE, rule),
    ]


def test_a_trace_reads_a_page_of_passes(shop: LargeShop) -> None:
    for of, which in _traced(shop):
        with shop.asking() as asked, shop.database.read() as session:
            found = trace(session, of, which, None)
        assert found is not None
        assert found.touched, of
        assert len(asked.statements) <= MOST_STATEMENTS
        assert asked.scans == set(), of


def test_the_pages_of_a_trace_hold_every_pass_once(shop: LargeShop) -> None:
    with shop.database.read() as session:
        for of, which in _traced(shop)[1:3]:
            column = col(Setting.cutter_id if of is TraceOf.CUTTER else Setting.tip_change_id)
            every = session.exec(
                select(Cut.port_pass_id)
                .join(Setting, col(Setting.id) == col(Cut.setting_id))
                .where(column == int(which))
            ).all()
            seen: list[int] = []
            after: int | None = None
            for _ in range(4):
                page = trace(session, of, which, after)
                assert page is not None
                seen += [each.pass_id for each in page.touched]
                after = page.next_after
                if after is None:
                    break
            assert len(seen) == len(set(seen))
            assert set(seen) == set(sorted(set(every), reverse=True)[: len(seen)])
