"""What was handed on stands at the top of every page of its job, until somebody takes it."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.job import Note, NoteTaken
from app.models.person import Person
from tests.web.bench import Bench, send, words

SignedInAs = Callable[[str], TestClient]
TEXT = "3E is set and not cut"


@pytest.fixture
def stage() -> str:
    return "set"


def person(database: Database, name: str) -> str:
    with database.read() as session:
        return str(session.exec(select(Person.id).where(Person.name == name)).one())


def hand_on(bench: Bench, browser: TestClient, **fields: str) -> None:
    url = f"/jobs/{bench.job.number}/notes"
    assert send(browser, url, kind="hand_on", text=TEXT, **fields).status_code == 303


def pages(bench: Bench) -> list[str]:
    head = f"/heads/{bench.head.id}"
    return [
        f"/jobs/{bench.job.number}",
        *(f"{head}/{page}" for page in ("stem-heights", "guides", "finish", "inspections")),
        bench.at("3E", "cut"),
        f"/jobs/{bench.job.number}/hand-over",
    ]


def test_the_next_person_reads_it_first_and_takes_it(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    wilma = signed_in_as("Wilma")
    hand_on(bench, wilma, **{"for": person(database, "Marek")})
    marek = signed_in_as("Marek")
    for url in pages(bench):
        page = marek.get(url)
        assert page.status_code == 200
        before_the_work = page.text.partition("<main")[0]
        assert "handed this job on" in before_the_work, url
        assert TEXT in before_the_work, url
    assert "Handed on" in words(marek.get("/bench"))
    with database.read() as session:
        note = session.exec(select(Note)).one()
    back = bench.at("3E", "cut")
    for _ in range(2):
        answer = send(marek, f"/notes/{note.id}/taken", key="5" * 32, next=back)
        assert (answer.status_code, answer.headers["location"]) == (303, back)
    for url in pages(bench):
        assert TEXT not in marek.get(url).text.partition("<main")[0], url
    assert "taken by Marek" in words(marek.get(f"/jobs/{bench.job.number}"))
    again = send(marek, f"/notes/{note.id}/taken", next=back)
    assert again.status_code == 409
    assert "taken already" in words(again)


def test_who_wrote_it_takes_it_back(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    wilma = signed_in_as("Wilma")
    hand_on(bench, wilma)
    page = words(wilma.get(f"/jobs/{bench.job.number}"))
    assert "You handed this job on" in page
    assert "Take it back" in page
    with database.read() as session:
        note = session.exec(select(Note)).one()
    assert send(wilma, f"/notes/{note.id}/taken").status_code == 303
    with database.read() as session:
        assert session.exec(select(NoteTaken)).one().note_id == note.id


@pytest.mark.parametrize("away", ["//elsewhere.example/", "https://elsewhere.example", "/\\x"])
def test_taking_it_leads_to_no_other_host(
    bench: Bench, signed_in_as: SignedInAs, database: Database, away: str
) -> None:
    wilma = signed_in_as("Wilma")
    hand_on(bench, wilma)
    with database.read() as session:
        note = session.exec(select(Note)).one()
    answer = send(wilma, f"/notes/{note.id}/taken", next=away)
    assert answer.headers["location"] == f"/jobs/{bench.job.number}"


def test_a_note_that_is_not_there_is_said(bench: Bench, signed_in_as: SignedInAs) -> None:
    assert send(signed_in_as("Wilma"), "/notes/999/taken").status_code == 404


def test_a_plain_note_for_a_colleague_is_asked_about_and_kept_typed(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    wilma = signed_in_as("Wilma")
    fields = {"for": person(database, "Marek"), "kind": "note", "text": TEXT}
    answer = send(wilma, f"/jobs/{bench.job.number}/notes", **fields)
    assert answer.status_code == 422
    assert "Only a note that is handed on" in words(answer)
    assert TEXT in answer.text
