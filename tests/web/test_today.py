"""Today's list, notices and other ends, and the hand-over's last looks, with scripts off."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.job import Consent, Job, Notice
from app.models.shop import Shop
from app.workflow.words import Ended
from tests.web.bench import Bench, send, words
from tests.web.test_jobs import take_in

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def wilma(signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("service_writer")


def promise(database: Database, number: str, days: int) -> None:
    with database.write() as session:
        job = session.exec(select(Job).where(Job.number == number)).one()
        zone = ZoneInfo(session.get_one(Shop, 1).zone)
        job.promised_on = datetime.now(zone).date() + timedelta(days=days)


def test_late_promises_are_told_first(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    wilma = signed_in_as("Wilma")
    promise(database, bench.job.number, -2)
    page = words(wilma.get("/today"))
    assert "1 promise is late" in page
    assert "2 days late" in page
    assert "of bench work left" in page
    assert page.index("Late") < page.index("What this is worked from")
    # No time is on record yet: each figure is a marked default.
    assert page.count("default a default (from memory); no position on record so far") == 3
    assert "left" in words(wilma.get("/counter"))
    assert "Today: 1 promise late" in words(wilma.get("/bench"))


def test_a_promise_that_cannot_be_kept_is_told_before_it_is_late(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    odile, wilma = signed_in_as("Odile"), signed_in_as("Wilma")
    promise(database, bench.job.number, 0)
    for key, value in (("bench_hours", "1"), ("work_days", "7"), ("minutes_finish", "60")):
        answer = send(odile, f"/shop-rules/{key}", value=value, source="we are one")
        assert answer.status_code == 303, words(answer)
    assert "1 will be late" in words(wilma.get("/today"))
    counter = words(wilma.get("/counter?show=late"))
    assert "will be late" in counter
    assert bench.job.number in counter


def test_waits_say_for_what_for_whom_and_since_when(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    wilma = signed_in_as("Wilma")
    number = bench.job.number
    fields = {"waiting": "parts", "waiting_for": "one ring for 3E"}
    assert send(wilma, f"/jobs/{number}/waiting", **fields).status_code == 303
    assert send(wilma, f"/jobs/{number}/price-lines", text="more", amount="9000").status_code == 303
    page = words(wilma.get("/today"))
    for told in ("Waiting for parts", "one ring for 3E", "A yes to", "Fern Hollow Farm"):
        assert told in page, told
    assert "since today" in words(wilma.get("/counter?show=waiting"))


# Notices and other ends


def test_a_notice_is_written_down_with_its_date(wilma: TestClient, database: Database) -> None:
    number = take_in(wilma)
    url = f"/jobs/{number}/notices"
    page = wilma.get(url)
    assert "Check local law." in words(page)
    fields = {"notice_of": "last", "how": "registered", "until": "2149-01-01"}
    assert send(wilma, url, **fields, note="letter 3").status_code == 303
    with database.read() as session:
        assert session.exec(select(Notice)).one().note == "letter 3"
    assert "letter 3" in words(wilma.get(url))
    assert "last notice" in words(wilma.get(f"/jobs/{number}"))
    bad = send(wilma, url, notice_of="last", how="letter", until="2001-01-01", note="letter 4")
    assert bad.status_code == 422
    assert "not after the day it was told" in words(bad)
    assert "letter 4" in bad.text


def test_an_abandoned_head_needs_its_notice_or_one_touch(
    wilma: TestClient, database: Database
) -> None:
    number = take_in(wilma)
    url = f"/jobs/{number}/end"
    asked = send(wilma, url, ended_as="abandoned", note="nobody came in a year")
    assert asked.status_code == 422
    assert "No last notice is on record" in words(asked)
    assert "nobody came in a year" in asked.text
    assert 'name="confirm_notice"' in asked.text
    fields = {"ended_as": "abandoned", "note": "nobody came in a year", "confirm_notice": "yes"}
    assert send(wilma, url, **fields).status_code == 303
    with database.read() as session:
        assert session.exec(select(Job)).one().ended_as is Ended.ABANDONED


# Money


def test_a_total_below_nothing_is_refused_with_what_was_typed(
    wilma: TestClient, database: Database
) -> None:
    number = take_in(wilma)
    answer = send(wilma, f"/jobs/{number}/price-lines", text="goodwill", amount="-5")
    assert answer.status_code == 422
    assert "less than nothing" in words(answer)
    assert 'value="goodwill"' in answer.text
    assert 'value="-5"' in answer.text


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago"])
def test_consent_is_dated_by_the_shops_own_day(
    wilma: TestClient, database: Database, zone: str
) -> None:
    number = take_in(wilma)
    with database.write() as session:
        session.get_one(Shop, 1).zone = zone
    today = datetime.now(ZoneInfo(zone)).date()
    fields = {"name": "Dana Field", "how": "phone", "limit": "640"}
    tomorrow = (today + timedelta(days=1)).isoformat()
    answer = send(wilma, f"/jobs/{number}/consent", **fields, given_on=tomorrow)
    assert answer.status_code == 422
    assert "still to come" in words(answer)
    for typed in ("Dana Field", "640", tomorrow):
        assert f'value="{typed}"' in answer.text
    ok = send(wilma, f"/jobs/{number}/consent", **fields, given_on=today.isoformat())
    assert ok.status_code == 303
    with database.read() as session:
        assert session.exec(select(Consent)).one().given_on == today


def test_the_final_list_is_in_the_shops_currency(wilma: TestClient, database: Database) -> None:
    number = take_in(wilma)
    send(wilma, f"/jobs/{number}/price-lines", text="looked at", amount="45")
    with database.read() as session:
        currency = session.get_one(Shop, 1).currency
    assert f"Total, {currency} 45.00" in words(wilma.get(f"/jobs/{number}/estimate/paper"))
    send(wilma, f"/jobs/{number}/end", ended_as="returned_unrepaired", note="cracked")
    paper = words(wilma.get(f"/jobs/{number}/estimate/paper"))
    assert "Final list" in paper
    assert f"Total, {currency} 45.00" in paper
