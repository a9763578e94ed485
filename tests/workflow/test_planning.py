"""Promises against the work left, worked by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from app.workflow.facts import HeadFacts, Point
from app.workflow.planning import (
    Bench,
    Moment,
    Promised,
    Rate,
    Timed,
    hours_words,
    outlooks,
    rates,
    seconds_by_stage,
    work_left,
)
from app.workflow.words import Work, WorkStage
from tests.workflow.heads import finished_head

EIGHT = datetime(2026, 11, 25, 8, tzinfo=UTC)
WEDNESDAY = date(2026, 11, 25)
DEFAULTS = {
    WorkStage.MEASURE: (8.0, "from memory"),
    WorkStage.CUT: (20.0, "from memory"),
    WorkStage.FINISH: (15.0, "from memory"),
}
BENCH = Bench(minutes_a_day=360, days_a_week=5)


def at(minutes: float, stage: WorkStage, is_own: bool = True) -> Moment:
    return Moment(EIGHT + timedelta(minutes=minutes), stage, is_own)


def test_what_lies_between_two_entries_counts_for_the_later_one() -> None:
    took = seconds_by_stage(
        [
            at(0, WorkStage.MEASURE),
            at(5, WorkStage.MEASURE),
            at(17, WorkStage.CUT),
            at(19, WorkStage.FINISH),
        ],
        timedelta(minutes=30),
    )
    assert took == {WorkStage.MEASURE: 300, WorkStage.CUT: 720, WorkStage.FINISH: 120}


def test_a_long_break_was_no_work() -> None:
    moments = [at(0, WorkStage.CUT), at(31, WorkStage.CUT), at(41, WorkStage.CUT)]
    assert seconds_by_stage(moments, timedelta(minutes=30)) == {WorkStage.CUT: 600}


def test_entries_on_other_positions_part_the_time_without_taking_it() -> None:
    moments = [at(0, WorkStage.CUT), at(10, WorkStage.CUT, False), at(14, WorkStage.CUT)]
    assert seconds_by_stage(moments, timedelta(minutes=30)) == {WorkStage.CUT: 240}


def test_the_default_holds_until_enough_positions_are_on_record() -> None:
    timed = [Timed(WorkStage.CUT, 8, 8 * 600), Timed(WorkStage.CUT, 3, 3 * 1200)]
    few = rates(timed, DEFAULTS, 12)[WorkStage.CUT]
    assert (few.minutes, few.positions, few.is_default) == (20, 11, True)
    assert few.told == "a default (from memory); 11 positions on record so far"
    enough = rates([*timed, Timed(WorkStage.CUT, 1, 0)], DEFAULTS, 12)[WorkStage.CUT]
    assert (enough.minutes, enough.positions, enough.is_default) == (140 / 12, 12, False)
    assert enough.told == "measured here on 12 positions"


def minutes(measure: float, cut: float, finish: float) -> dict[WorkStage, Rate]:
    each = {WorkStage.MEASURE: measure, WorkStage.CUT: cut, WorkStage.FINISH: finish}
    return {stage: Rate(stage, time, 50, False) for stage, time in each.items()}


def changed(head: HeadFacts, label: str, **changes: object) -> HeadFacts:
    return replace(
        head,
        ports=tuple(
            replace(port, **changes) if port.label == label else port  # type: ignore[arg-type]
            for port in head.ports
        ),
    )


def test_a_finished_head_has_no_work_left() -> None:
    left = work_left([finished_head()], minutes(8, 20, 15))
    assert (left.minutes, left.positions, left.told) == (0, (), "")


def test_each_stage_that_a_position_still_needs_is_counted_once() -> None:
    head = finished_head()
    not_cut = {"cut": Point(), "bore_measured": Point(), "depth_measured": Point()}
    not_cut |= {"ring_in": Point(), "seat_width": Point(), "signed": Point()}
    head = changed(head, "2E", verdict=None, **not_cut)
    head = changed(head, "3E", seat_width=Point(), signed=Point())
    left = work_left([head], minutes(8, 20, 15))
    assert dict(left.positions) == {WorkStage.CUT: 1, WorkStage.FINISH: 2}
    assert left.minutes == 20 + 2 * 15
    assert left.told == "about 50 min"


def test_work_that_is_not_decided_is_said_and_not_guessed() -> None:
    head = changed(finished_head(), "4E", work=Work.UNDECIDED)
    left = work_left([head], minutes(8, 20, 15))
    assert (left.minutes, left.told) == (0, "1 position not decided")


@pytest.mark.parametrize(
    ("minutes", "told"),
    [(40, "40 min"), (60, "1 h"), (100, "1 h 40 min"), (480, "8 h"), (511, "9 h"), (509, "8 h")],
)
def test_work_is_told_as_a_person_says_it(minutes: int, told: str) -> None:
    assert hours_words(minutes) == told


@pytest.mark.parametrize(
    ("minutes", "likely"),
    [
        (0, date(2026, 11, 25)),
        (360, date(2026, 11, 25)),
        (361, date(2026, 11, 26)),
        (3 * 360, date(2026, 11, 27)),
        (3 * 360 + 1, date(2026, 11, 30)),  # over the weekend
        (13 * 360, date(2026, 12, 11)),
    ],
)
def test_working_days_are_counted_and_weekends_are_not(minutes: int, likely: date) -> None:
    assert BENCH.day_after(WEDNESDAY, minutes) == likely


def test_the_earliest_promise_is_worked_first_and_the_others_behind_it() -> None:
    found = outlooks(
        [
            Promised("26-0002", date(2026, 11, 26), 500),
            Promised("26-0001", date(2026, 11, 25), 300),
            Promised("26-0003", None, 10),
            Promised("26-0004", date(2026, 11, 24), 0),
        ],
        BENCH,
        WEDNESDAY,
    )
    assert found["26-0004"].is_late
    assert not found["26-0004"].will_be_late
    assert found["26-0001"].likely_on == WEDNESDAY
    assert (found["26-0002"].ahead, found["26-0002"].likely_on) == (300, date(2026, 11, 27))
    assert found["26-0002"].will_be_late
    assert not found["26-0003"].will_be_late


def test_a_job_that_waits_is_not_promised_before_what_it_waits_for() -> None:
    waits = Promised("26-0001", date(2026, 11, 26), 60, True, date(2026, 11, 30))
    nobody_knows = replace(waits, number="26-0002", expected_on=None)
    found = outlooks([waits, nobody_knows], BENCH, WEDNESDAY)
    assert found["26-0001"].likely_on == date(2026, 11, 30)
    assert found["26-0001"].will_be_late
    assert found["26-0002"].likely_on is None
    assert not found["26-0002"].will_be_late
