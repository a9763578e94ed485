"""The gates, line by line: dropping any line of the table fails here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import product

import pytest

from app.workflow.facts import ConsentFacts, HeadFacts, HoldFacts, Point
from app.workflow.gates import (
    GATE_VERSION,
    GATES,
    Gate,
    GateShut,
    accepts_reason,
    asked_points,
    closed_by_reason,
    may_pass,
    open_points,
    pass_gate,
    requirement,
)
from app.workflow.kinds import CustomerKind, HoldReason, ResultKind, Verdict
from app.workflow.words import (
    GuideDecision,
    HeatHistory,
    InspectionWay,
    Material,
    Outcome,
    SeatNow,
    Work,
)

from .heads import OPEN, finished_head, with_every_port, with_port

Change = Callable[[HeadFacts], HeadFacts]


def of_head(**changes: object) -> Change:
    return lambda head: replace(head, **changes)  # type: ignore[arg-type]


def of_port(label: str, **changes: object) -> Change:
    return lambda head: with_port(head, label, **changes)


NO_CONSENT = of_head(consent=ConsentFacts())

# Each line of the table, opened in each way that it can be; the label where it is a position's.
OPENINGS: list[tuple[Gate | None, str, str | None, Change]] = [
    (Gate.METAL_OFF, "identity", None, of_head(identity=OPEN)),
    (Gate.METAL_OFF, "material", None, of_head(material=None, heat_history=None)),
    (Gate.METAL_OFF, "unit", None, of_head(unit=None)),
    (Gate.METAL_OFF, "layout", None, of_head(layout="")),
    (Gate.METAL_OFF, "layout", None, of_head(numbered_from="")),
    (Gate.METAL_OFF, "work", None, of_port("4E", work=Work.UNDECIDED)),
    (Gate.METAL_OFF, "consent", None, NO_CONSENT),
    (
        Gate.METAL_OFF,
        "consent",
        None,
        of_head(consent=ConsentFacts(given=True, limit=64000, total=64001)),
    ),
    (Gate.METAL_OFF, "crack_test", None, of_head(crack_test=OPEN)),
    (Gate.METAL_OFF, "crack_test", None, of_head(crack_test=Point.not_ok("crack at 2E"))),
    (Gate.METAL_OFF, "hardness", None, of_head(hardness=OPEN)),
    (Gate.METAL_OFF, "guides", "2E", of_port("2E", guide_decision=None)),
    (Gate.METAL_OFF, "guides", "1E", of_port("1E", guide_fit=OPEN)),
    (Gate.METAL_OFF, "stem_before", "3E", of_port("3E", stem_before=OPEN)),
    (Gate.METAL_OFF, "stem_before", "1E", of_port("1E", stem_before=OPEN)),
    (Gate.METAL_OFF, "wall", "2E", of_port("2E", wall=OPEN)),
    (Gate.METAL_OFF, "web", "3E", of_port("3E", web=OPEN)),
    (Gate.RING_IN, "bore", "3E", of_port("3E", bore_measured=OPEN)),
    (Gate.RING_IN, "depth", "3E", of_port("3E", depth_measured=OPEN)),
    (Gate.RING_IN, "verdict", "3E", of_port("3E", verdict=None)),
    (Gate.RING_IN, "verdict", "3E", of_port("3E", verdict=Verdict.LOOSE)),
    (Gate.RING_IN, "verdict", "3E", of_port("3E", verdict=Verdict.TIGHT)),
    (Gate.RING_IN, "ring_in_hand", "2E", of_port("2E", ring_in_hand=OPEN)),
    (
        Gate.RING_IN,
        "no_hold",
        "2E",
        of_port("2E", hold=HoldFacts(HoldReason.LOOSE, "loose by .0015")),
    ),
    (Gate.RING_IN, "no_hold", "2E", of_port("2E", hold=HoldFacts(HoldReason.STOPPED, ""))),
    (
        Gate.RING_IN,
        "standing",
        "2E",
        of_port("2E", no_longer_stands=(ResultKind.TARGET, ResultKind.VERIFICATION)),
    ),
    (Gate.HAND_OVER, "work", None, of_port("4E", work=Work.UNDECIDED)),
    (Gate.HAND_OVER, "consent", None, NO_CONSENT),
    (Gate.HAND_OVER, "seat_ring_in", "3E", of_port("3E", ring_in=OPEN)),
    (Gate.HAND_OVER, "seat_width", "3E", of_port("3E", seat_width=OPEN)),
    (Gate.HAND_OVER, "seat_width", "1E", of_port("1E", seat_width=OPEN)),
    (Gate.HAND_OVER, "seat_run_out", "1E", of_port("1E", seat_run_out=OPEN)),
    (Gate.HAND_OVER, "stem_after", "3E", of_port("3E", stem_after=OPEN)),
    (Gate.HAND_OVER, "pressure_after", None, of_head(pressure_after=OPEN)),
    (Gate.HAND_OVER, "pressure_after", None, of_head(pressure_after=Point.not_ok("bubbles"))),
    (Gate.HAND_OVER, "signed", "2E", of_port("2E", signed=OPEN)),
    (Gate.HAND_OVER, "signed", "1I", of_port("1I", signed=OPEN)),
    (Gate.HAND_OVER, "signed", "2E", of_port("2E", no_longer_stands=(ResultKind.VERIFICATION,))),
    (Gate.HAND_OVER, "signed", "2E", of_port("2E", hold=HoldFacts(HoldReason.CHANGED, "changed"))),
    (Gate.HAND_OVER, "parts_counted", None, of_head(parts_counted=OPEN)),
    (None, "wanted", None, of_head(wanted=OPEN)),
    (None, "received", None, of_head(pieces_in=None)),
    (None, "heat_history", None, of_head(heat_history=None)),
    (None, "pressure_before", None, of_head(pressure_before=OPEN)),
    (None, "flatness", None, of_head(flatness=OPEN)),
    (None, "old_pocket", "2E", of_port("2E", old_pocket=OPEN)),
    (None, "ring_seated", "2E", of_port("2E", ring_seated=OPEN)),
]

# The three gates as the trade words them: a line that is dropped, or that moved, fails below.
ASKED = {
    Gate.METAL_OFF: {
        "identity",
        "material",
        "unit",
        "layout",
        "work",
        "consent",
        "crack_test",
        "hardness",
        "guides",
        "stem_before",
        "wall",
        "web",
    },
    Gate.RING_IN: {"bore", "depth", "verdict", "ring_in_hand", "no_hold", "standing"},
    Gate.HAND_OVER: {
        "work",
        "consent",
        "seat_ring_in",
        "seat_width",
        "seat_run_out",
        "stem_after",
        "pressure_after",
        "signed",
        "parts_counted",
    },
    None: {
        "wanted",
        "received",
        "heat_history",
        "pressure_before",
        "flatness",
        "old_pocket",
        "ring_seated",
    },
}

SINCE_3 = {"work"}

TAKES_A_REASON = {
    "crack_test",
    "hardness",
    "guides",
    "stem_before",
    "wall",
    "web",
    "seat_width",
    "seat_run_out",
    "stem_after",
    "pressure_after",
    "parts_counted",
}


@pytest.mark.parametrize("gate", list(Gate))
def test_a_head_with_everything_closed_passes(gate: Gate) -> None:
    assert open_points(gate, finished_head()) == ()
    assert may_pass(gate, finished_head())
    pass_gate(gate, finished_head())


def test_a_finished_head_has_nothing_left_to_see() -> None:
    assert open_points(None, finished_head()) == ()


@pytest.mark.parametrize(
    ("gate", "key", "label", "change"),
    OPENINGS,
    ids=[f"{gate.value if gate else 'visible'}-{key}-{label}" for gate, key, label, _ in OPENINGS],
)
def test_opening_one_point_shuts_its_gate_by_exactly_that_point(
    gate: Gate | None, key: str, label: str | None, change: Change
) -> None:
    head = change(finished_head())
    assert [(asked.key, asked.label) for asked in open_points(gate, head)] == [(key, label)]
    if gate is not None:
        with pytest.raises(GateShut) as shut:
            pass_gate(gate, head)
        assert requirement(key).screen in shut.value.message.replace("Still", "still")


@pytest.mark.parametrize("version", GATES)
@pytest.mark.parametrize("gate", [*Gate, None])
def test_each_gate_asks_what_the_trade_asks_and_no_more(gate: Gate | None, version: int) -> None:
    lines = {line.key for line in GATES[version] if line.gate is gate}
    asked_then = ASKED[gate] - (SINCE_3 if version < 3 and gate is Gate.HAND_OVER else set())
    assert lines == asked_then
    head = finished_head(gate_version=version)
    assert {asked.key for asked in asked_points(gate, head)} == asked_then


def test_every_line_of_the_table_was_opened_once_above() -> None:
    opened = {(gate, key) for gate, key, _, _ in OPENINGS}
    assert opened == {(line.gate, line.key) for line in GATES[GATE_VERSION]}


def test_a_key_names_one_line_of_a_gate_and_fits_its_column() -> None:
    keys = [(line.gate, line.key) for line in GATES[GATE_VERSION]]
    assert len(keys) == len(set(keys))
    assert all(len(key) <= 40 for _, key in keys)


@pytest.mark.parametrize("key", sorted(set().union(*(ASKED[gate] for gate in Gate))))
def test_which_points_a_reason_closes(key: str) -> None:
    assert accepts_reason(key) == (key in TAKES_A_REASON)


NOT_DONE = Point.not_done("customer declined")
HEAD_FIELD = {"crack_test", "hardness", "pressure_after", "parts_counted", "identity"}
PORT_FIELD = {
    "guides": "guide_fit",
    "stem_before": "stem_before",
    "wall": "wall",
    "web": "web",
    "bore": "bore_measured",
    "depth": "depth_measured",
    "ring_in_hand": "ring_in_hand",
    "seat_ring_in": "ring_in",
    "seat_width": "seat_width",
    "seat_run_out": "seat_run_out",
    "stem_after": "stem_after",
    "signed": "signed",
}


@pytest.mark.parametrize("key", sorted(HEAD_FIELD | set(PORT_FIELD)))
def test_a_reason_closes_a_point_only_where_one_is_accepted(key: str) -> None:
    gate = requirement(key).gate
    assert gate is not None
    if key in HEAD_FIELD:
        head = replace(finished_head(), **{key: NOT_DONE})
    else:
        head = with_port(finished_head(), "2E", **{PORT_FIELD[key]: NOT_DONE})
    assert may_pass(gate, head) == (key in TAKES_A_REASON)
    told = [(asked.key, asked.point.told) for asked in closed_by_reason(gate, head)]
    assert told == ([(key, "customer declined")] if key in TAKES_A_REASON else [])


def test_an_empty_reason_closes_nothing() -> None:
    assert not may_pass(Gate.METAL_OFF, finished_head(crack_test=Point.not_done("  ")))


def test_a_guide_left_undecided_is_closed_by_a_reason_too() -> None:
    head = with_port(
        finished_head(), "2E", guide_decision=None, guide_fit=Point.not_done("customer's guides")
    )
    assert may_pass(Gate.METAL_OFF, head)


@pytest.mark.parametrize(
    ("material", "history", "asked"),
    [
        (Material.ALUMINIUM, HeatHistory.OVERHEATED, True),
        (Material.ALUMINIUM, HeatHistory.UNKNOWN, True),
        (Material.ALUMINIUM, None, True),
        (Material.ALUMINIUM, HeatHistory.NONE_KNOWN, False),
        (Material.GREY_IRON, HeatHistory.OVERHEATED, False),
        (Material.DUCTILE_IRON, None, False),
    ],
)
def test_hardness_is_asked_only_of_aluminium_that_may_have_gone_soft(
    material: Material, history: HeatHistory | None, asked: bool
) -> None:
    head = finished_head(material=material, heat_history=history, hardness=OPEN)
    assert [each.key for each in open_points(Gate.METAL_OFF, head)] == ["hardness"] * asked


@pytest.mark.parametrize(
    ("seat_now", "goes_over", "beside", "asked"),
    [
        (SeatNow.RING, True, False, True),
        (SeatNow.RING, None, False, True),
        (SeatNow.RING, False, False, False),
        (SeatNow.RING, False, True, True),
        (SeatNow.CASTING, False, False, True),
        (SeatNow.WELDED, False, False, False),
    ],
)
def test_wall_and_web_are_asked_over_the_old_size_or_beside_another_new_ring(
    seat_now: SeatNow, goes_over: bool | None, beside: bool, asked: bool
) -> None:
    head = with_every_port(finished_head(), work=Work.LEAVE)
    head = with_port(
        head,
        "2E",
        work=Work.RING,
        seat_now=seat_now,
        goes_over_old_pocket=goes_over,
        wall=OPEN,
        web=OPEN,
    )
    if beside:
        head = with_port(head, "3E", work=Work.RING, goes_over_old_pocket=False)
    keys = [each.key for each in open_points(Gate.METAL_OFF, head, ["2E"])]
    assert keys == ["wall", "web"] * asked


@pytest.mark.parametrize("gate", [Gate.METAL_OFF, Gate.HAND_OVER])
def test_shop_stock_needs_no_consent(gate: Gate) -> None:
    assert not may_pass(gate, NO_CONSENT(finished_head()))
    assert may_pass(gate, NO_CONSENT(finished_head(customer_kind=CustomerKind.SHOP_STOCK)))


def test_a_head_without_a_known_customer_still_needs_consent() -> None:
    assert not may_pass(
        Gate.METAL_OFF, NO_CONSENT(finished_head(customer_kind=CustomerKind.UNKNOWN))
    )


def test_consent_without_an_amount_covers_any_total() -> None:
    head = finished_head(consent=ConsentFacts(given=True, limit=None, total=999_999))
    assert may_pass(Gate.METAL_OFF, head)


def test_consent_never_strands_a_half_cut_head_and_is_asked_again_before_hand_over() -> None:
    head = finished_head(metal_off=True, consent=ConsentFacts(given=True, limit=64000, total=70000))
    assert may_pass(Gate.METAL_OFF, head)
    assert may_pass(Gate.RING_IN, head)
    assert [each.told for each in open_points(Gate.HAND_OVER, head)] == [
        "consent that covers the work (agreed up to 640.00, the price lines come to 700.00)"
    ]


def test_only_the_positions_named_are_asked() -> None:
    head = with_port(finished_head(), "3E", stem_before=OPEN, bore_measured=OPEN)
    assert may_pass(Gate.METAL_OFF, head, ["2E"])
    assert not may_pass(Gate.METAL_OFF, head, ["2E", "3E"])
    assert may_pass(Gate.RING_IN, head, ["2E"])
    with pytest.raises(KeyError):
        may_pass(Gate.RING_IN, head, ["9E"])


def test_a_position_left_alone_is_asked_nothing() -> None:
    bare = {"stem_before": OPEN, "guide_decision": None, "guide_fit": OPEN, "signed": OPEN}
    head = with_port(finished_head(), "4E", **bare, seat_width=OPEN, wall=OPEN)
    assert all(may_pass(gate, head) for gate in Gate)


def test_a_seat_only_position_needs_no_ring_and_its_head_no_pressure_test_after_boring() -> None:
    head = with_every_port(finished_head(pressure_after=OPEN), work=Work.LEAVE, cut=OPEN)
    head = with_port(head, "2E", work=Work.SEAT_ONLY, ring_in=OPEN, bore_measured=OPEN)
    assert may_pass(Gate.RING_IN, head)
    assert may_pass(Gate.HAND_OVER, head)


def test_a_head_that_was_bored_is_pressure_tested_even_when_no_ring_is_wanted_any_more() -> None:
    head = with_every_port(finished_head(pressure_after=OPEN), work=Work.LEAVE, cut=OPEN)
    head = with_port(head, "2E", cut=Point.closed("cut"))
    assert [each.key for each in open_points(Gate.HAND_OVER, head)] == ["pressure_after"]


def test_a_loose_bore_goes_on_only_with_a_signed_deviation() -> None:
    head = with_port(
        finished_head(), "2E", verdict=Verdict.LOOSE, deviation="interference .0028, limit .0030"
    )
    assert may_pass(Gate.RING_IN, head)


def test_nothing_came_with_it_so_nothing_is_counted_out() -> None:
    assert may_pass(Gate.HAND_OVER, finished_head(pieces_in=0, parts_counted=OPEN))


def test_a_shut_gate_names_positions_together() -> None:
    head = with_port(finished_head(crack_test=OPEN), "2E", stem_before=OPEN)
    head = with_port(head, "3E", stem_before=OPEN)
    with pytest.raises(GateShut) as shut:
        pass_gate(Gate.METAL_OFF, head)
    assert shut.value.message == (
        "Still open before metal comes off: crack test; 2E and 3E: stem height as it came in."
    )


def test_a_head_keeps_the_gate_version_it_was_opened_under() -> None:
    with pytest.raises(KeyError):
        open_points(Gate.METAL_OFF, finished_head(gate_version=GATE_VERSION + 1))


@pytest.mark.parametrize(
    ("outcome", "closes"), [(Outcome.OK, True), (Outcome.NOT_OK, False), (None, False)]
)
def test_an_inspection_closes_a_point_when_it_came_out_well(
    outcome: Outcome | None, closes: bool
) -> None:
    head = finished_head(crack_test=Point.of_inspection(outcome, "dye, no indications"))
    assert may_pass(Gate.METAL_OFF, head) is closes


@pytest.mark.parametrize(("kind", "point"), [("crack", "crack_test"), ("hardness", "hardness")])
def test_a_test_that_failed_is_closed_by_the_word_that_the_head_goes_on(
    kind: str, point: str
) -> None:
    hot = finished_head(
        material=Material.ALUMINIUM,
        heat_history=HeatHistory.OVERHEATED,
        hardness=Point.closed("82 HB"),
    )
    assert may_pass(Gate.METAL_OFF, hot)
    failed = of_head(**{point: Point.not_ok("found at 2E")})(hot)
    decided = replace(
        failed,
        way=InspectionWay.GO_ON,
        way_because="pinned, the customer knows",
        way_knew=frozenset({kind}),
    )
    assert not may_pass(Gate.METAL_OFF, failed)
    assert may_pass(Gate.METAL_OFF, decided)
    assert not may_pass(Gate.METAL_OFF, replace(decided, way_because=""))
    assert not may_pass(Gate.METAL_OFF, replace(decided, way=InspectionWay.ASK_CUSTOMER))
    # Said before it was found, it says nothing of it.
    assert not may_pass(Gate.METAL_OFF, replace(decided, way_knew=frozenset()))
    # A head that was opened under the first gates keeps them.
    assert not may_pass(Gate.METAL_OFF, replace(decided, gate_version=1))


def test_an_inspection_not_done_is_closed_by_its_reason() -> None:
    head = finished_head(crack_test=Point.of_inspection(Outcome.NOT_DONE, "no tester"))
    assert [each.told for each in closed_by_reason(Gate.METAL_OFF, head)] == [
        "crack test (no tester)"
    ]


def test_every_combination_of_two_open_points_is_told() -> None:
    lines = [each for each in OPENINGS if each[0] is Gate.HAND_OVER and each[2] is None]
    for (_, first, _, open_first), (_, second, _, open_second) in product(lines, lines):
        head = open_second(open_first(finished_head()))
        assert {each.key for each in open_points(Gate.HAND_OVER, head)} == {first, second}


def test_a_guide_is_told_with_what_was_decided() -> None:
    head = with_port(finished_head(), "2E", guide_decision=GuideDecision.LEFT)
    told = [each.told for each in asked_points(Gate.METAL_OFF, head, ["2E"]) if each.label]
    assert told[0] == "2E: guide (left as it is, read)"
