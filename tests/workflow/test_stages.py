"""Where positions and heads stand, for each kind of work."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.workflow.facts import ConsentFacts, HeadFacts, HoldFacts, Point
from app.workflow.kinds import HoldReason, ResultKind, Verdict
from app.workflow.stages import (
    ARCS,
    PARTS,
    is_ready,
    order_at_bench,
    progress,
    stage_of,
    stages_of,
)
from app.workflow.words import Page, Stage, StageState, VerifyPart, Work

from .heads import FINISHED_PORT, OPEN, WORKS, finished_head, with_every_port, with_port

# From the last thing done at a ring to the first: what undoing each leaves as the stage now.
BACKWARDS: list[tuple[dict[str, Any], Stage, str, Page]] = [
    ({"signed": OPEN}, Stage.VERIFY, "sign", Page.SIGNATURE),
    ({"seat_width": OPEN}, Stage.VERIFY, "finish the seat", Page.FINISH),
    (
        {"is_warm": True},
        Stage.VERIFY,
        "let the head cool, then prove the ring down",
        Page.HEAT,
    ),
    ({"ring_in": OPEN}, Stage.VERIFY, "press the ring", Page.RING_IN),
    ({"verdict": None}, Stage.VERIFY, "verdict on the bore is still open", Page.CUT),
    ({"bore_measured": OPEN}, Stage.CUT, "gauge the bore", Page.CUT),
    ({"cut": OPEN}, Stage.CUT, "cut and gauge", Page.CUT),
    ({"setting": OPEN}, Stage.SET, "set the cutter", Page.SETTING),
    ({"target": OPEN}, Stage.MEASURE, "work out the bore", Page.SETTING),
    ({"ring_read": OPEN}, Stage.MEASURE, "measure the ring", Page.RING_SET),
    (
        {"stem_before": OPEN},
        Stage.MEASURE,
        "stem height as it came in is still open",
        Page.STEM_HEIGHTS,
    ),
    ({"work": Work.UNDECIDED}, Stage.INTAKE, "decide its work", Page.POSITIONS),
]


@pytest.mark.parametrize(("undone", "stage", "step", "page"), BACKWARDS)
def test_the_stage_is_the_first_arc_with_an_open_point(
    undone: dict[str, Any], stage: Stage, step: str, page: Page
) -> None:
    # Everything later is undone too, as it is on the way.
    later: dict[str, Any] = {}
    for each, *_ in BACKWARDS:
        later |= each
        if each == undone:
            break
    head = with_port(finished_head(), "3E", **later)
    at = stage_of(head, head.port("3E"))
    assert at.stage is stage
    assert at.next is not None
    assert (at.next.screen, at.next.page) == (step, page)


def test_a_finished_position_is_done_with_nothing_next() -> None:
    head = finished_head()
    at = stage_of(head, head.port("3E"))
    assert at.stage is Stage.DONE
    assert at.next is None
    assert {state for _, state in at.arcs} == {StageState.DONE}
    assert all(reached for _, reached in at.parts)


def test_arcs_read_done_now_and_to_come() -> None:
    head = with_port(
        finished_head(), "3E", cut=OPEN, bore_measured=OPEN, verdict=None, ring_in=OPEN, signed=OPEN
    )
    at = stage_of(head, head.port("3E"))
    assert at.arcs == (
        (Stage.INTAKE, StageState.DONE),
        (Stage.MEASURE, StageState.DONE),
        (Stage.SET, StageState.DONE),
        (Stage.CUT, StageState.NOW),
        (Stage.VERIFY, StageState.TO_COME),
    )
    assert at.arc(Stage.CUT) is StageState.NOW


def test_a_later_arc_may_be_done_before_an_earlier_one() -> None:
    head = with_port(finished_head(), "3E", stem_before=OPEN)
    at = stage_of(head, head.port("3E"))
    assert at.stage is Stage.MEASURE
    assert at.arc(Stage.CUT) is StageState.DONE


def test_verify_shows_bore_proved_then_ring_in_then_seat_finished() -> None:
    head = with_port(finished_head(), "3E", seat_run_out=OPEN, signed=OPEN)
    assert stage_of(head, head.port("3E")).parts == (
        (VerifyPart.BORE_PROVED, True),
        (VerifyPart.RING_IN, True),
        (VerifyPart.SEAT_FINISHED, False),
    )


def test_the_bore_is_proved_before_the_ring_in_hand_is_known() -> None:
    head = with_port(finished_head(), "3E", ring_in_hand=OPEN, ring_in=OPEN, signed=OPEN)
    at = stage_of(head, head.port("3E"))
    assert at.has(VerifyPart.BORE_PROVED)
    assert not at.has(VerifyPart.RING_IN)


def test_a_seat_finish_not_done_for_a_reason_counts_as_finished() -> None:
    head = with_port(finished_head(), "3E", stem_after=Point.not_done("no gauge reaches it"))
    assert stage_of(head, head.port("3E")).stage is Stage.DONE


def test_a_hold_keeps_its_stage_and_asks_for_a_way_out() -> None:
    head = with_port(
        finished_head(),
        "3E",
        verdict=Verdict.LOOSE,
        hold=HoldFacts(HoldReason.LOOSE, "loose by .0015"),
        ring_in=OPEN,
        signed=OPEN,
    )
    at = stage_of(head, head.port("3E"))
    assert at.on_hold
    assert at.stage is Stage.VERIFY
    assert not at.has(VerifyPart.BORE_PROVED)
    assert at.next is not None
    assert at.next.page is Page.HOLD


def test_a_signed_position_whose_figures_no_longer_stand_is_not_done() -> None:
    head = with_port(finished_head(), "3E", no_longer_stands=(ResultKind.VERIFICATION,))
    assert stage_of(head, head.port("3E")).stage is Stage.VERIFY


def test_a_cut_page_opened_and_not_recorded_asks_whether_it_was_cut() -> None:
    head = with_port(finished_head(), "3E", cut=OPEN, opened_unrecorded="14:07")
    step = stage_of(head, head.port("3E")).next
    assert step is not None
    assert step.screen == "opened at 14:07: was it cut?"


def test_a_ring_on_order_is_waited_for() -> None:
    head = with_port(
        finished_head(), "3E", ring_read=OPEN, target=OPEN, wanted_ring="expected Friday"
    )
    step = stage_of(head, head.port("3E")).next
    assert step is not None
    assert step.screen == "wait for the ring: expected Friday"


def test_a_bore_close_to_the_edge_is_asked_about_and_not_stopped() -> None:
    head = with_port(finished_head(), "3E", ring_in=OPEN, signed=OPEN, edge_question_open=True)
    at = stage_of(head, head.port("3E"))
    assert at.has(VerifyPart.BORE_PROVED)
    assert at.next is not None
    assert "read again" in at.next.screen


def test_another_positions_undecided_work_does_not_hold_this_one_back() -> None:
    head = with_port(finished_head(), "4E", work=Work.UNDECIDED)
    assert stage_of(head, head.port("3E")).stage is Stage.DONE
    assert stage_of(head, head.port("4E")).stage is Stage.INTAKE


@pytest.mark.parametrize(
    ("label", "opened", "stage"),
    [
        ("1E", {"signed": OPEN}, Stage.VERIFY),
        ("1E", {"seat_width": OPEN}, Stage.VERIFY),
        ("1E", {"guide_fit": OPEN}, Stage.MEASURE),
        ("1E", {"ring_read": OPEN, "cut": OPEN, "ring_in": OPEN, "verdict": None}, Stage.DONE),
        ("1I", {"signed": OPEN}, Stage.VERIFY),
        ("1I", {"guide_fit": OPEN}, Stage.MEASURE),
        ("1I", {"stem_before": OPEN, "seat_width": OPEN, "ring_in": OPEN}, Stage.DONE),
        ("4E", {"signed": OPEN, "stem_before": OPEN, "guide_fit": OPEN}, Stage.DONE),
    ],
)
def test_work_without_a_ring_has_fewer_arcs(
    label: str, opened: dict[str, Any], stage: Stage
) -> None:
    head = with_port(finished_head(), label, **opened)
    at = stage_of(head, head.port(label))
    assert at.stage is stage
    assert [each for each, _ in at.arcs] == list(ARCS[head.port(label).work])


@pytest.mark.parametrize("label", ["3E", "1E", "1I", "4E"])
def test_a_head_without_identity_keeps_every_position_at_taken_in(label: str) -> None:
    head = finished_head(identity=OPEN)
    at = stage_of(head, head.port(label))
    assert at.stage is Stage.INTAKE
    assert at.next is not None
    assert at.next.page is Page.INTAKE


POINTS = [name for name, value in FINISHED_PORT.items() if isinstance(value, Point)]


@given(st.sets(st.sampled_from(POINTS)), st.sampled_from(list(Work)))
def test_exactly_one_arc_is_now_unless_done(opened: set[str], work: Work) -> None:
    head = with_port(finished_head(), "3E", work=work, **dict.fromkeys(opened, OPEN))
    at = stage_of(head, head.port("3E"))
    now = [stage for stage, state in at.arcs if state is StageState.NOW]
    assert now == ([] if at.stage is Stage.DONE else [at.stage])
    assert (at.next is None) == (at.stage is Stage.DONE)
    assert [part for part, _ in at.parts] == list(PARTS[work])


@given(st.sets(st.sampled_from(POINTS)))
def test_a_whole_head_is_staged_as_its_positions_are(opened: set[str]) -> None:
    head = with_port(finished_head(crack_test=OPEN), "3E", **dict.fromkeys(opened, OPEN))
    assert stages_of(head) == {port.label: stage_of(head, port) for port in head.ports}


RINGS_OUT = {"ring_in": OPEN, "signed": OPEN, "seat_width": OPEN}


def rings_only(**changes: Any) -> HeadFacts:
    head = with_every_port(finished_head(), work=Work.LEAVE)
    for label in ("2E", "3E"):
        head = with_port(head, label, work=Work.RING, **changes)
    return head


@pytest.mark.parametrize(
    ("head", "told"),
    [
        (finished_head(ports=()), "taken in, valve layout open"),
        (
            with_every_port(finished_head(), work=Work.UNDECIDED),
            "taken in, work of each position to be decided",
        ),
        (
            with_port(rings_only(), "4E", work=Work.UNDECIDED),
            "2 of 2 seat rings in, work of 1 position to be decided",
        ),
        (rings_only(**RINGS_OUT, stem_before=OPEN), "0 of 2 seat rings in, being measured"),
        (rings_only(**RINGS_OUT, setting=OPEN, cut=OPEN), "0 of 2 seat rings in, cutter to be set"),
        (rings_only(**RINGS_OUT, cut=OPEN), "0 of 2 seat rings in, counterbores being cut"),
        (
            with_port(rings_only(), "3E", **RINGS_OUT),
            "1 of 2 seat rings in, seat rings going in",
        ),
        (
            rings_only(signed=OPEN, seat_run_out=OPEN),
            "2 of 2 seat rings in, 2 seats to finish",
        ),
        (with_port(finished_head(), "1E", signed=OPEN, stem_after=OPEN), "1 seat to finish"),
        (finished_head(pressure_after=OPEN), "2 of 2 seat rings in, waiting for pressure test"),
        (
            finished_head(consent=ConsentFacts(given=True, limit=1, total=2), metal_off=True),
            "2 of 2 seat rings in, waiting for consent that covers the work",
        ),
        (with_port(finished_head(), "2E", signed=OPEN), "waiting for signature"),
        (finished_head(), "2 of 2 seat rings in, ready for hand-over"),
        (finished_head(parts_counted=OPEN), "2 of 2 seat rings in, parts to be counted out"),
        (finished_head(identity=OPEN), "2 of 2 seat rings in, being taken in"),
    ],
)
def test_the_head_tells_its_progress_in_one_line(head: HeadFacts, told: str) -> None:
    assert progress(head).endswith(told)


def test_heads_without_rings_tell_seats_or_guides() -> None:
    no_rings = with_port(with_port(finished_head(), "2E", work=Work.LEAVE), "3E", work=Work.LEAVE)
    assert progress(no_rings).startswith("1 of 1 seat finished")
    guide = with_port(no_rings, "1E", work=Work.LEAVE)
    assert progress(guide).startswith("1 of 1 guide done")
    nothing = with_every_port(finished_head(), work=Work.LEAVE)
    assert progress(nothing).startswith("every position left as it is")


def test_a_head_is_ready_when_only_the_hand_over_is_left() -> None:
    assert is_ready((finished_head(),))
    assert is_ready((finished_head(parts_counted=OPEN, pieces_in=0),))
    assert not is_ready((finished_head(parts_counted=OPEN),))
    assert not is_ready((finished_head(pressure_after=OPEN),))
    assert not is_ready(())
    assert not is_ready((finished_head(ports=()),))
    assert not is_ready((with_every_port(finished_head(), work=Work.UNDECIDED),))


def test_every_kind_of_work_is_staged() -> None:
    assert set(ARCS) == set(PARTS) == set(Work)
    assert set(WORKS.values()) < set(Work)


def test_seats_are_finished_after_a_hot_head_is_cold_and_the_last_ring_is_measured() -> None:
    finish = order_at_bench(Stage.VERIFY, Page.FINISH)
    assert order_at_bench(Stage.VERIFY, Page.HEAT) < finish
    assert order_at_bench(Stage.VERIFY, Page.RING_IN) < finish
    assert order_at_bench(Stage.MEASURE, Page.RING_SET) < finish
    assert finish < order_at_bench(Stage.VERIFY, Page.SIGNATURE)


def test_a_test_that_failed_asks_how_the_head_goes_on() -> None:
    failed = finished_head(crack_test=Point.not_ok("hairline at 2E"))
    step = stage_of(failed, failed.port("2E")).next
    assert step is not None
    assert step.screen == "say how the head goes on: crack test (not OK: hairline at 2E)"
    assert step.page is Page.INSPECTIONS
