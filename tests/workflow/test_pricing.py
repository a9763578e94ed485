"""What a price list counts: what was found and decided, where it was."""

from __future__ import annotations

from app.workflow.facts import HeadFacts, Point, PortFacts
from app.workflow.kinds import PricedBy
from app.workflow.layout import lay_out
from app.workflow.pricing import AlsoDone, Finding, Found, found_on
from app.workflow.words import GuideDecision, SeatNow, Work

PLACES = {each.label: each for each in lay_out("EIIE", 2, "")}


def port(label: str, work: Work = Work.LEAVE, **facts: object) -> PortFacts:
    return PortFacts(position=PLACES[label], work=work, **facts)  # type: ignore[arg-type]


def head(*ports: PortFacts, name: str = "", **facts: object) -> HeadFacts:
    return HeadFacts(name=name, ports=ports, **facts)  # type: ignore[arg-type]


def count(heads: list[HeadFacts], *also: AlsoDone) -> dict[Finding, Found]:
    return found_on(heads, also or [AlsoDone() for _ in heads])


def test_each_ring_and_each_cut_seat_counts_with_its_positions() -> None:
    found = count(
        [head(port("1E", Work.RING), port("1I", Work.SEAT_ONLY), port("2I"), port("2E", Work.RING))]
    )
    assert (found[Finding.SEAT_RING].positions, found[Finding.SEAT_RING].because) == (
        2,
        "1E and 2E",
    )
    assert found[Finding.SEAT].positions == 3
    assert Finding.GUIDE not in found


def test_a_seat_in_the_casting_has_no_old_ring_to_take_out() -> None:
    found = count(
        [
            head(
                port("1E", Work.RING, seat_now=SeatNow.CASTING),
                port("2E", Work.RING, seat_now=SeatNow.RING),
            )
        ]
    )
    assert found[Finding.OLD_RING_OUT].because == "2E"


def test_on_two_heads_positions_carry_the_heads_name() -> None:
    left = head(port("1E", Work.RING), name="left")
    right = head(port("1E", guide_decision=GuideDecision.SERVICED), name="right")
    found = count([left, right])
    assert found[Finding.SEAT_RING].because == "left 1E"
    assert found[Finding.GUIDE].because == "right 1E"
    assert found[Finding.HEAD].pieces(PricedBy.HEAD) == 2
    assert found[Finding.JOB].pieces(PricedBy.JOB) == 1


def test_a_test_that_failed_was_done_and_one_not_done_costs_nothing() -> None:
    assert Finding.CRACK_TEST in count([head(crack_test=Point.not_ok("crack at 2E"))])
    assert Finding.CRACK_TEST not in count([head(crack_test=Point.not_done("no tester"))])
    assert Finding.CRACK_TEST not in count([head()])


def test_two_pressure_tests_of_one_head_are_two() -> None:
    tested = head(pressure_before=Point.closed("45 psi"), pressure_after=Point.closed("45 psi"))
    assert count([tested])[Finding.PRESSURE_TEST].pieces(PricedBy.HEAD) == 2


def test_a_price_by_head_counts_heads_where_it_was_found() -> None:
    left = head(port("1E", Work.RING), port("2E", Work.RING), name="left")
    found = count([left, head(name="right")])
    assert found[Finding.SEAT_RING].pieces(PricedBy.HEAD) == 1
    assert found[Finding.SEAT_RING].pieces(PricedBy.POSITION) == 2


def test_decks_valves_and_vacuum_tests_count_where_they_were_done() -> None:
    left = AlsoDone(deck_was_cut=True, refaced=("1E", "2E"), vacuum_tested=("1E",))
    found = count([head(name="left"), head(name="right")], left, AlsoDone(new_valves=("1I",)))
    assert (found[Finding.DECK].heads, found[Finding.DECK].because) == (1, "left")
    assert found[Finding.VALVE_REFACED].because == "left 1E and left 2E"
    assert found[Finding.VALVE_NEW].pieces(PricedBy.POSITION) == 1
    assert found[Finding.VACUUM_TEST].positions == 1
