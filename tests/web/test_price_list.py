"""The price list, what it proposes for a job, and the estimate on paper."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.db import Database
from app.models.job import PriceLine
from app.models.price_item import PriceItem
from tests.web.bench import Bench, send

SignedIn = Callable[[str], TestClient]


@pytest.fixture
def odile(bench: Bench, signed_in_as: SignedIn) -> TestClient:
    """The owner, who sets prices."""
    return signed_in_as("owner")


def price(
    browser: TestClient, text: str, amount: str, by: str = "position", proposed_by: str = ""
) -> int:
    fields = {"text": text, "amount": amount, "priced_by": by, "proposed_by": proposed_by}
    return send(browser, "/price-list", **fields).status_code


def lines(database: Database) -> list[tuple[str, int, int | None, bool]]:
    with database.read() as session:
        return [
            (line.text, line.amount, line.pieces, line.voided_at is not None)
            for line in session.exec(select(PriceLine).order_by(col(PriceLine.id)))
        ]


def estimate(browser: TestClient, bench: Bench) -> tuple[str, dict[str, str]]:
    """The page's words, and the fields that a person would send from it as it stands."""
    text = browser.get(f"/jobs/{bench.job.number}/estimate").text
    ticked = re.findall(r'name="(line\.\d+)" value="yes" checked', text)
    pieces = re.findall(r'name="(pieces\.\d+)" value="(\d+)"', text)
    return unescape(text), dict.fromkeys(ticked, "yes") | dict(pieces)


def test_what_was_found_and_has_no_price_is_named_on_the_estimate(
    odile: TestClient, bench: Bench
) -> None:
    missing = "a position that gets a seat ring (2E and 3E)"
    assert missing in estimate(odile, bench)[0]
    assert price(odile, "Seat ring fitted", "48.00", proposed_by="seat_ring") == 303
    assert missing not in estimate(odile, bench)[0]


def test_what_was_found_is_proposed_with_its_positions_and_amount(
    odile: TestClient, bench: Bench, database: Database
) -> None:
    assert price(odile, "Seat ring fitted", "48.00", proposed_by="seat_ring") == 303
    assert price(odile, "Crack test", "35", by="head", proposed_by="crack_test") == 303
    assert price(odile, "Courier", "20", by="job") == 303
    words, fields = estimate(odile, bench)
    assert "Seat ring fitted" in words
    assert "2E and 3E" in words
    assert "Courier" not in words.partition("<main")[2]
    assert send(odile, f"/jobs/{bench.job.number}/estimate", **fields).status_code == 303
    assert lines(database) == [
        ("Seat ring fitted", 9600, 2, False),
        ("Crack test", 3500, 1, False),
    ]
    assert "Nothing to propose" in estimate(odile, bench)[0]


def test_a_deck_that_was_cut_and_new_valves_are_proposed(odile: TestClient, bench: Bench) -> None:
    bench.hands.cut_deck(bench.head, ".004")
    ids = {f"valve_{bench.ports[label].id}": "new" for label in ("2E", "3E")}
    assert send(odile, f"/heads/{bench.head.id}/valves", **ids).status_code == 303
    assert "a new valve (2E and 3E)" in estimate(odile, bench)[0]
    price(odile, "Deck cut", "80", by="head", proposed_by="deck")
    words, fields = estimate(odile, bench)
    assert "Deck cut" in words
    assert list(fields.values()) == ["yes", "1"]


def test_another_count_strikes_the_line_and_puts_the_new_one(
    odile: TestClient, bench: Bench, database: Database
) -> None:
    price(odile, "Seat ring fitted", "48", proposed_by="seat_ring")
    send(odile, f"/jobs/{bench.job.number}/estimate", **estimate(odile, bench)[1])
    bench.hands.decide(bench.head, {"1E": "ring", "2E": "ring", "3E": "ring", "*": "leave"}, {})
    words, fields = estimate(odile, bench)
    assert "instead of 2" in words
    send(odile, f"/jobs/{bench.job.number}/estimate", **fields)
    assert lines(database) == [
        ("Seat ring fitted", 9600, 2, True),
        ("Seat ring fitted", 14400, 3, False),
    ]


def test_what_changed_meanwhile_is_not_put_there_unseen(
    odile: TestClient, bench: Bench, database: Database
) -> None:
    price(odile, "Seat ring fitted", "48", proposed_by="seat_ring")
    fields = estimate(odile, bench)[1]
    bench.hands.decide(bench.head, {"1E": "ring", "2E": "ring", "3E": "ring", "*": "leave"}, {})
    answer = send(odile, f"/jobs/{bench.job.number}/estimate", **fields)
    assert answer.status_code == 409
    assert "changed while the page was open" in answer.text
    assert lines(database) == []


def test_nothing_ticked_is_said(odile: TestClient, bench: Bench) -> None:
    answer = send(odile, f"/jobs/{bench.job.number}/estimate")
    assert answer.status_code == 422
    assert "none is ticked" in answer.text


def test_a_price_that_changes_leaves_the_lines_that_stand(
    odile: TestClient, bench: Bench, database: Database
) -> None:
    price(odile, "Seat ring fitted", "48", proposed_by="seat_ring")
    send(odile, f"/jobs/{bench.job.number}/estimate", **estimate(odile, bench)[1])
    with database.read() as session:
        [item] = session.exec(select(PriceItem)).all()
    changed = {
        "seen": str(item.id),
        "text": "Seat ring fitted",
        "amount": "55",
        "priced_by": "position",
        "proposed_by": "seat_ring",
    }
    assert send(odile, f"/price-list/{item.key}", **changed).status_code == 303
    assert lines(database) == [("Seat ring fitted", 9600, 2, False)]
    page = unescape(odile.get(f"/price-list/{item.key}").text)
    assert "55.00" in page
    assert "48.00" in page
    again = send(odile, f"/price-list/{item.key}", **changed)
    assert again.status_code == 409


def test_a_price_off_the_list_is_proposed_no_more(
    odile: TestClient, bench: Bench, database: Database
) -> None:
    price(odile, "Seat ring fitted", "48", proposed_by="seat_ring")
    with database.read() as session:
        [item] = session.exec(select(PriceItem)).all()
    assert send(odile, f"/price-list/{item.key}/retire", seen=str(item.id)).status_code == 303
    assert "Nothing to propose" in estimate(odile, bench)[0]
    assert "Off the list" in odile.get("/price-list").text


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"text": "", "amount": "5"}, "Write what the amount is for"),
        ({"text": "Wash", "amount": "-5"}, "cannot be negative"),
        ({"text": "Wash", "amount": "five"}, "must be an amount"),
        ({"text": "Wash", "amount": "5", "proposed_by": "moon"}, "not one of the choices"),
    ],
)
def test_a_price_that_cannot_be_is_refused_with_what_was_typed(
    odile: TestClient, fields: dict[str, str], says: str
) -> None:
    answer = send(odile, "/price-list", **({"priced_by": "job"} | fields))
    assert answer.status_code == 422
    page = unescape(answer.text)
    assert says in page
    assert f'value="{fields["amount"]}"' in page


def test_the_same_words_stand_on_the_list_once(odile: TestClient) -> None:
    assert price(odile, "Hot wash", "30") == 303
    assert price(odile, "hot wash", "35") == 422


def test_the_printed_estimate_adds_up_and_says_what_was_agreed(
    odile: TestClient, bench: Bench
) -> None:
    price(odile, "Seat ring fitted", "48", proposed_by="seat_ring")
    send(odile, f"/jobs/{bench.job.number}/estimate", **estimate(odile, bench)[1])
    send(odile, f"/jobs/{bench.job.number}/price-lines", text="Courier", amount="20.50")
    page = unescape(odile.get(f"/jobs/{bench.job.number}/estimate/paper").text)
    assert "116.50" in page
    assert "up to 640.00" in page
    assert "This is no invoice" in page


def test_only_the_owner_sets_prices(bench: Bench, signed_in_as: SignedIn) -> None:
    wilma = signed_in_as("service_writer")
    assert price(wilma, "Seat ring fitted", "48") == 403
    assert "Add a price" not in wilma.get("/price-list").text
