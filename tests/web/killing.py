"""The rounds of a server killed while four tablets type, and what must hold after each."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from sqlmodel import Session, col, func, select
from starlette.testclient import TestClient

from app.config import Settings
from app.db import Database
from app.keeping.check import check_records
from app.main import create_app
from app.models.event import Event
from app.models.person import Person
from app.models.reading import Reading, ReadingStrike
from app.services.sign_in import new_token, sign_in
from app.services.write import Write
from tests.killed_server import Tablet, fields, forked_servers, kill_while_typing
from tests.web.bench import Bench
from tests.web.conftest import HERE, Cast

TABLETS = 4
KEY = 16  # signs of a form's key; a reading's begins with it


@dataclass(frozen=True)
class Survived:
    """How many readings were acknowledged, and how many of them are there."""

    acknowledged: int
    kept: int


def survives(
    bench: Bench, settings: Settings, database: Database, cast: Cast, rounds: int
) -> Survived:
    """Kill the server `rounds` times; after each one the record is whole."""
    tablets = _tablets(bench, settings, database, cast)
    file = Path(database.url.database or "")
    with forked_servers(settings, tablets[0]) as program:
        with database.read() as session:
            before = _counts(session)
        for _ in range(rounds):
            kill_while_typing(program, tablets, file)
            _look(database, tablets, before)
        _send_what_waits(settings, database, tablets)
    kept = _look(database, tablets, before)
    faults = [words for part in check_records(database, settings.photos) for words in part.faults]
    assert faults == []
    return Survived(sum(len(tablet.acknowledged) for tablet in tablets), kept)


def _look(database: Database, tablets: list[Tablet], before: tuple[int, int, int]) -> int:
    with database.read() as session:
        found: dict[str, list[str]] = {}
        for key, typed in session.exec(select(Reading.client_key, Reading.typed)):
            found.setdefault((key or "")[:KEY], []).append(typed)
        now = _counts(session)
    readings, strikes, events = (n - m for n, m in zip(now, before, strict=True))
    # Each form is one reading, one strike of what it was typed over, one event: all or nothing.
    assert readings == strikes == events
    kept = 0
    for tablet in tablets:
        for key, typed in tablet.acknowledged.items():
            assert found.get(key) == [typed], f"{typed} was acknowledged"
            kept += 1
    unanswered = readings - kept
    assert 0 <= unanswered <= len([tablet for tablet in tablets if tablet.waiting])
    return kept


def _counts(session: Session) -> tuple[int, int, int]:
    verb = col(Event.verb) == "recorded readings"
    readings = session.exec(select(func.count()).select_from(Reading)).one()
    strikes = session.exec(select(func.count()).select_from(ReadingStrike)).one()
    return readings, strikes, session.exec(select(func.count(col(Event.id))).where(verb)).one()


def _send_what_waits(settings: Settings, database: Database, tablets: list[Tablet]) -> None:
    """As a tablet does when the server is back: the same form, which is recorded once."""
    with _browser(settings, database) as browser:
        for tablet in tablets:
            if tablet.waiting is None:
                continue
            key, figure, had = tablet.waiting
            browser.cookies.set(settings.cookie_name, tablet.token)
            form = {"client_key": key, tablet.name: figure, tablet.had: had}
            for _ in range(2):
                assert browser.post(tablet.page, data=form).status_code == 303
            tablet.acknowledged[key], tablet.waiting = figure, None


def _tablets(bench: Bench, settings: Settings, database: Database, cast: Cast) -> list[Tablet]:
    page = f"/heads/{bench.head.id}/stem-heights"
    tokens = [new_token() for _ in range(TABLETS)]
    for token in tokens:
        with database.write() as session:
            marek = session.get_one(Person, cast["Marek"])
            sign_in(Write(session, by=None), marek.id, marek.pin_hash, token=token, address="t")
    with _browser(settings, database) as browser:
        browser.cookies.set(settings.cookie_name, tokens[0])
        named = fields(browser.get(page).text, "stem_height")
    assert len(named) >= TABLETS
    return [
        Tablet(page, name, had, token, had_id)
        for (name, had, had_id), token in zip(named, tokens, strict=False)
    ]


def _browser(settings: Settings, database: Database) -> TestClient:
    return TestClient(
        create_app(settings, database),
        base_url=HERE,
        headers={"Origin": HERE},
        follow_redirects=False,
    )
