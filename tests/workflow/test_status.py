"""What the counter says into the phone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from app.workflow.facts import ConsentFacts, HoldFacts, JobFacts
from app.workflow.kinds import CustomerKind, HoldReason
from app.workflow.next_step import next_step
from app.workflow.status import status_of
from app.workflow.words import Ended, Page, Stage, Waiting

from .heads import OPEN, finished_head, with_port

TUESDAY = date(2026, 11, 24)
HELD = with_port(
    finished_head(),
    "3E",
    hold=HoldFacts(HoldReason.LOOSE, "loose by .0015"),
    ring_in=OPEN,
    seat_width=OPEN,
    signed=OPEN,
)


def job(**changes: Any) -> JobFacts:
    plain = JobFacts(
        number="26-0142",
        today=TUESDAY,
        heads=(HELD,),
        promised_on=date(2026, 11, 27),
        place="3",
    )
    return replace(plain, **changes)


def test_a_job_is_told_in_short_sentences() -> None:
    assert status_of(job()).sentence == (
        "1 of 2 seat rings in. 3E is on hold. Rack 3, promised Friday 27 Nov."
    )


def test_two_heads_are_told_by_name() -> None:
    heads = (replace(HELD, name="left"), finished_head(name="B"))
    assert status_of(job(heads=heads)).sentence == (
        "Left head: 1 of 2 seat rings in. "
        "Head B: 2 of 2 seat rings in, ready for hand-over. "
        "Left head 3E is on hold. Rack 3, promised Friday 27 Nov."
    )


@pytest.mark.parametrize(
    ("written", "told"),
    [("3", "Rack 3, no"), ("Rack 6", "Rack 6, no"), ("shelf by the door", "Shelf by"), ("", "No ")],
)
def test_a_place_is_told_as_it_is_written(written: str, told: str) -> None:
    sentence = status_of(job(place=written, promised_on=None)).sentence
    assert told in sentence
    assert "rack rack" not in sentence.lower()


TOO_SMALL = ConsentFacts(given=True, limit=40000, total=52050)


@pytest.mark.parametrize(
    ("metal_off", "until"), [(False, "before metal comes off"), (True, "before hand-over")]
)
def test_prices_past_the_consent_are_told_and_asked_for(metal_off: bool, until: str) -> None:
    over = job(heads=(finished_head(consent=TOO_SMALL, metal_off=metal_off),))
    assert f"A yes to 120.50 more is needed {until}." in status_of(over).sentence
    step = next_step(over)
    assert step is not None
    assert step.screen == "Ask for 120.50 more"


def test_shop_stock_is_asked_of_nobody() -> None:
    stock = finished_head(consent=TOO_SMALL, customer_kind=CustomerKind.SHOP_STOCK)
    assert "a yes to" not in status_of(job(heads=(stock,))).sentence.lower()


def test_without_any_consent_it_is_recorded_first() -> None:
    step = next_step(job(heads=(finished_head(consent=ConsentFacts(total=52050)),)))
    assert step is not None
    assert step.screen == "Record the customer's consent"


NOT_CUT = {"cut": OPEN, "bore_measured": OPEN, "ring_in": OPEN, "seat_width": OPEN, "signed": OPEN}


def test_what_can_be_cut_now_comes_before_the_next_setting() -> None:
    head = with_port(finished_head(), "2E", setting=OPEN, **NOT_CUT)
    step = next_step(job(heads=(with_port(head, "3E", **NOT_CUT),)))
    assert step is not None
    assert step.screen == "3E: cut and gauge"


def test_a_proved_bore_gets_its_ring_before_the_next_setting() -> None:
    head = with_port(finished_head(), "2E", setting=OPEN, **NOT_CUT)
    step = next_step(job(heads=(with_port(head, "3E", ring_in=OPEN, signed=OPEN),)))
    assert step is not None
    assert step.screen == "3E: press the ring"


def test_rings_that_are_due_together_go_in_on_one_page_before_seats_are_finished() -> None:
    due = {"ring_in": OPEN, "seat_width": OPEN, "signed": OPEN}
    head = with_port(with_port(finished_head(), "2E", **due), "3E", **due)
    head = with_port(head, "1E", seat_width=OPEN, signed=OPEN)
    step = next_step(job(heads=(head,)))
    assert step is not None
    assert (step.screen, step.page) == ("2E: press the ring (and 1 more)", Page.RINGS_IN)
    alone = next_step(job(heads=(with_port(finished_head(), "3E", **due),)))
    assert alone is not None
    assert alone.page is Page.RING_IN


def test_the_next_setting_comes_before_signing() -> None:
    head = with_port(finished_head(), "2E", setting=OPEN, **NOT_CUT)
    step = next_step(job(heads=(with_port(head, "3E", signed=OPEN),)))
    assert step is not None
    assert step.screen == "2E: set the cutter"


def test_a_late_job_says_by_how_many_days() -> None:
    status = status_of(job(promised_on=date(2026, 11, 23)))
    assert status.is_late
    assert status.days_late == 1
    assert status.sentence.endswith("Rack 3, promised Monday 23 Nov, 1 day late.")


def test_a_job_promised_for_today_is_not_late() -> None:
    status = status_of(job(promised_on=TUESDAY))
    assert not status.is_late
    assert status.sentence.endswith("promised for today.")


def test_a_job_without_a_promise_says_so() -> None:
    status = status_of(job(promised_on=None, place="by the door"))
    assert status.sentence.endswith("By the door, no day promised.")


@pytest.mark.parametrize(
    ("expected", "told"),
    [
        (None, "Waiting for parts: two seat rings, since Monday 23 Nov."),
        (date(2026, 11, 26), "since Monday 23 Nov, expected Thursday 26 Nov."),
        (date(2026, 11, 30), "expected Monday 30 Nov, after the promised day."),
        (date(2026, 11, 23), "was expected Monday 23 Nov."),
    ],
)
def test_a_waiting_job_says_for_what_since_when_and_until(expected: date | None, told: str) -> None:
    status = status_of(
        job(
            waiting=Waiting.PARTS,
            waiting_for="two seat rings",
            waiting_since=date(2026, 11, 23),
            expected_on=expected,
        )
    )
    assert told in status.sentence
    assert status.is_waiting


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"ended": Ended.HANDED_OVER, "ended_on": TUESDAY}, "Handed over today."),
        (
            {"ended": Ended.SCRAPPED, "ended_on": date(2026, 11, 20)},
            "Scrapped Friday 20 Nov.",
        ),
        ({"ended": Ended.CANCELLED}, "Cancelled."),
        ({"voided": True}, "Voided: it was recorded in error."),
    ],
)
def test_an_ended_job_says_how_and_nothing_else(changes: dict[str, Any], told: str) -> None:
    status = status_of(job(**changes, promised_on=date(2026, 1, 1), waiting=Waiting.CUSTOMER))
    assert status.sentence == told
    assert status.stage is Stage.DONE
    assert [status.is_late, status.is_waiting, status.is_ready, status.on_hold] == [
        False,
        False,
        False,
        (),
    ]


def test_the_list_begins_with_late_then_waiting_then_on_hold() -> None:
    finished = (finished_head(),)
    open_job = (with_port(finished_head(), "3E", ring_in=OPEN, signed=OPEN),)
    ranks = [
        status_of(each).rank
        for each in (
            job(promised_on=date(2026, 11, 1), waiting=Waiting.PARTS),
            job(waiting=Waiting.PARTS),
            job(),
            job(heads=finished),
            job(heads=open_job),
            job(ended=Ended.HANDED_OVER),
        )
    ]
    assert ranks == sorted(set(ranks))


def test_a_job_is_only_as_far_as_its_last_position() -> None:
    behind = with_port(finished_head(), "3E", setting=OPEN, cut=OPEN, ring_in=OPEN, signed=OPEN)
    assert status_of(job(heads=(finished_head(), behind))).stage is Stage.SET
    assert status_of(job(heads=(finished_head(),))).stage is Stage.DONE


def test_a_job_without_a_head_is_taken_in() -> None:
    status = status_of(job(heads=()))
    assert status.sentence == "Taken in, no head yet. Rack 3, promised Friday 27 Nov."
    assert status.stage is Stage.INTAKE
