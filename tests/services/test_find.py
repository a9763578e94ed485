"""Finding jobs by any word in them: alike on both databases, and kept in the same write."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import text
from sqlmodel import Session, col, select

from app.db import Database
from app.forms.customers import CustomerForm, EmptyingForm
from app.forms.find import FindForm
from app.forms.notes import NoteForm
from app.models.crib import Cutter
from app.models.head import Port
from app.models.job import Job
from app.models.job_words import INDEX, JobWords
from app.models.ring import RingSet
from app.queries.counter import find_jobs
from app.queries.find import find
from app.queries.job_words import texts_of
from app.services.customers import empty_customer, update_customer
from app.services.notes import write_note
from app.workflow.job_words import Source, all_words, wanted
from app.workflow.words import Waiting
from tests.services.conftest import Writing
from tests.services.counter import TODAY, add_shop, described, new_job
from tests.services.floor import Done, Floor


@pytest.fixture
def shop(database: Database) -> None:
    with database.write() as session:
        add_shop(session)


def found(session: Session, typed: str = "", **filters: str) -> list[str]:
    form = FindForm({"q": typed, **filters})
    assert form.ok, form.errors
    return [line.job.number for line in find(session, form, TODAY).lines]


@pytest.fixture
def two(shop: None, writing: Writing) -> tuple[str, str]:
    """Harrow Lane's job with much written in it, and one of Dana Field."""
    with writing() as tx:
        job = new_job(tx, wanted="Loses coolant on cylinder three, and it pops")
        described(tx, job, casting="HL-4410-B", serial="SN 20177", material="grey_iron")
        write_note(tx, job.number, NoteForm({"kind": "call", "text": "Wants it before Férie"}))
    with writing() as tx:
        other = new_job(tx, customer="Dana Field", phone="555-0177", wanted="Burnt valve")
    return job.number, other.number


@pytest.mark.parametrize(
    "typed",
    [
        "harrow", "LANE har", "Hárrow", "0134", "555-0134", "55 50 134", "hl-4410", "4410b",
        "HL 4410 B", "sn20", "20177 lane", "cool", "coolant pops three", "ferie", "Férie 4410",
    ],
)  # fmt: skip
def test_beginnings_of_any_words_find_a_job(
    database: Database, two: tuple[str, str], typed: str
) -> None:
    with database.read() as session:
        assert found(session, typed) == [two[0]]


@pytest.mark.parametrize(
    "typed",
    [
        "arrow",
        "oolant",
        "harrow field",
        "coolant burnt",
        '"',
        "cool*",
        "'x':*",
        "OR",
        "\ue000person1",
    ],
)
def test_what_does_not_begin_so_or_stands_in_different_jobs_finds_none(
    database: Database, two: tuple[str, str], typed: str
) -> None:
    expected = [two[0]] if typed == "cool*" else []
    with database.read() as session:
        assert found(session, typed) == expected


def test_a_number_is_found_whole_by_its_beginning_and_by_its_last_part(
    database: Database, two: tuple[str, str]
) -> None:
    first, second = two
    with database.read() as session:
        assert found(session, first) == [first]
        assert found(session, first[:5]) == [second, first]
        assert found(session, second.lstrip("0").rpartition("-")[2]) == [second]


def test_a_person_finds_what_they_took_in_or_noted(
    database: Database, two: tuple[str, str], writing: Writing
) -> None:
    with writing() as tx:
        assert tx.by is not None
        name = tx.by.name
        assert found(tx.session, name) == [two[1], two[0]]
        tx.session.get_one(type(tx.by), tx.by_id).name = "Somebody Else"
        tx.session.flush()
        assert found(tx.session, name) == []
        assert found(tx.session, "somebo coolant") == [two[0]]


def test_a_renamed_customer_is_found_by_the_new_name_only(
    database: Database, two: tuple[str, str], writing: Writing
) -> None:
    with writing() as tx:
        job = tx.session.exec(select(Job).where(Job.number == two[0])).one()
        assert job.customer_id is not None
        fields = {"name": "Upper Mill", "phone": "555-0200"}
        update_customer(tx, job.customer_id, CustomerForm(fields))
    with database.read() as session:
        assert found(session, "harrow") == found(session, "0134") == []
        assert found(session, "upper") == found(session, "0200 coolant") == [two[0]]


def test_an_emptied_customer_is_in_no_index(
    database: Database, two: tuple[str, str], writing: Writing
) -> None:
    with writing() as tx:
        job = tx.session.exec(select(Job).where(Job.number == two[0])).one()
        assert job.customer_id is not None
        job.ended_at = tx.at
        typed = EmptyingForm({"typed": "Harrow Lane Farms"})
        empty_customer(tx, job.customer_id, typed)
    with database.read() as session:
        assert found(session, "harrow") == []
        assert found(session, "coolant") == [two[0]]
        assert "harrow" not in " ".join(session.exec(select(JobWords.words)))
        if database.is_sqlite:
            blocks = session.execute(text(f"SELECT block FROM {INDEX}_data")).scalars()
            assert not any(b"arrow" in block for block in blocks)


def test_filters_are_kept_to_and_go_together_with_words(
    database: Database, two: tuple[str, str], writing: Writing
) -> None:
    first, second = two
    with writing() as tx:
        jobs = {job.number: job for job in tx.session.exec(select(Job))}
        jobs[first].promised_on = TODAY - timedelta(days=3)
        jobs[second].waiting = Waiting.PARTS
        jobs[second].waiting_since = tx.at
        tx.session.flush()
        third = new_job(tx, customer="Mill Garage", comeback_of=first, comeback_cause="misfires")
        jobs[third.number] = third
    with database.read() as session:
        everything = [third.number, second, first]
        assert found(session) == everything
        assert found(session, sort="old") == everything[::-1]
        assert found(session, sort="promised") == [first, second, third.number]
        assert found(session, material="grey_iron") == [first]
        assert found(session, "burnt", material="grey_iron") == []
        assert found(session, promise="late") == [first]
        assert found(session, promise="none") == [third.number, second]
        assert found(session, waiting="yes") == [second]
        assert found(session, came_back="yes") == [first]
        assert found(session, comeback="yes") == found(session, "misf") == [third.number]
        assert found(session, stage="intake") == everything
        assert found(session, stage="done") == found(session, hold="yes") == []
        assert found(session, state="ended") == []
        assert found(session, until="2019-01-01") == []


@pytest.mark.parametrize("sort", ["new", "old", "lately", "promised"])
@pytest.mark.parametrize("typed", ["", "pages"])
def test_pages_go_on_where_the_last_one_ended(
    database: Database, shop: None, writing: Writing, monkeypatch: pytest.MonkeyPatch,
    sort: str, typed: str,
) -> None:  # fmt: skip
    monkeypatch.setattr("app.queries.find.MOST_FOUND", 2)
    with writing() as tx:
        for nth in range(5):
            job = new_job(tx, wanted="five pages of it")
            job.promised_on = TODAY + timedelta(days=nth // 2)
            if sort == "lately":
                job.ended_at = tx.at + timedelta(minutes=nth // 2)
    seen: list[str] = []
    after = ""
    with database.read() as session:
        for _ in range(3):
            form = FindForm({"q": typed, "sort": sort, "after": after})
            page = find(session, form, TODAY)
            seen += [line.job.number for line in page.lines]
            after = str(page.next_after or "")
        assert after == ""
        numbers = list(session.exec(select(Job.number).order_by(col(Job.id))))
    down = sort in ("new", "lately")
    assert seen == (numbers[::-1] if down else numbers)


def test_what_is_known_of_open_jobs_only_is_not_asked_of_ended_ones() -> None:
    assert "state" in FindForm({"state": "ended", "hold": "yes"}).errors
    assert "until" in FindForm({"since": "2026-02-01", "until": "2026-01-01"}).errors
    assert FindForm({"state": "open", "hold": "yes"}).ok


class TestAJobThatWasCut:
    """Seat rings, cutters and whoever worked on it."""

    @pytest.fixture
    def stage(self) -> Done:
        return Floor.ringed

    def test_it_is_found_by_lot_part_cutter_and_machinist(
        self, floor: Floor, database: Database
    ) -> None:
        with database.read() as session:
            cutter = session.exec(select(Cutter.name)).first()
            number = session.exec(select(Job.number).order_by(col(Job.id))).first()
            assert cutter
            assert found(session, cutter) == [number]
            assert number in found(session, "max")

    def test_a_lot_is_found_as_soon_as_it_is_written(
        self, floor: Floor, database: Database, writing: Writing
    ) -> None:
        with writing() as tx:
            ring_set = tx.session.exec(select(RingSet)).first()
            assert ring_set is not None
            ring_set.lot = "QX-88-14"
            tx.log("changed what is written of a ring set", ring_set, job=ring_set.job_id)
            tx.seal()
        with database.read() as session:
            assert len(found(session, "qx88")) == len(found(session, "88-14")) == 1
            [line] = find(session, FindForm({"q": "qx-88"}), TODAY).lines
            places = find(session, FindForm({"q": "qx-88"}), TODAY).places_of(line)
            assert [(each.source, each.said) for each in places] == [(Source.LOT, "QX-88-14")]

    def test_a_stage_finds_it(self, floor: Floor, database: Database) -> None:
        with database.read() as session:
            stages = {port.stage for port in session.exec(select(Port))}
            assert stages
            for each in stages:
                assert len(found(session, stage=each)) == 1

    def test_its_words_are_those_of_what_stands_in_it_now(
        self, floor: Floor, database: Database
    ) -> None:
        """Nothing that was written on the way has left the words behind."""
        with database.read() as session:
            rows = session.exec(select(JobWords)).all()
            assert rows
            texts = texts_of(session, [row.job_id for row in rows])
            for row in rows:
                assert row.words == all_words(texts[row.job_id])


def test_the_counter_shows_open_jobs_first(
    database: Database, two: tuple[str, str], writing: Writing
) -> None:
    with writing() as tx:
        newer = tx.session.exec(select(Job).where(Job.number == two[1])).one()
        newer.ended_at = tx.at
    with database.read() as session:
        lines = find_jobs(session, "5550", TODAY).lines
        assert [line.job.number for line in lines] == list(two)


def test_a_mark_is_never_typed() -> None:
    assert wanted("\ue000person1").groups == (("person1", ()),)


def test_the_words_stand_in_the_same_write(shop: None, writing: Writing) -> None:
    """Not afterwards: a write that fails leaves no words behind, one that is kept has them."""
    with pytest.raises(RuntimeError, match="failed"):
        _fail(writing)
    with writing() as tx:
        assert found(tx.session, "lane") == []


def _fail(writing: Writing) -> None:
    with writing() as tx:
        new_job(tx)
        assert len(found(tx.session, "lane")) == 1
        raise RuntimeError("failed")
