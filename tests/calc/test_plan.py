"""Fewest settings for many positions, and the positions that no bore suits."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import MissingError, OrderError
from app.calc.plan import PlannedPort, setting_plan
from app.calc.rules import interference
from app.calc.units import Length

CHECKS = {
    "setting_plan": "Kleinberg and Tardos, Algorithm Design, ch. 4 (from memory) for the number; "
    "the rest by trying every grouping in test_stabbing",
}
IRON = interference(least=Length.of(".003"), aim=Length.of(".004"), most=Length.of(".005"))


def port(name: str, ring_od: str, uncertainty: str = ".0002", window=IRON) -> PlannedPort:
    return PlannedPort(name, Length.of(ring_od), window, Length.of(uncertainty))


def plan(*ports: PlannedPort, repeatability: str = "0"):
    return setting_plan(ports=ports, repeatability=Length.of(repeatability))


def test_one_setting_serves_rings_that_are_close():
    found = plan(port("1E", "1.6261"), port("2E", "1.6265"), port("3E", "1.6263"))
    assert [(one.bore, one.ports) for one in found.settings] == [
        (Length.of("1.6223"), ("1E", "2E", "3E"))
    ]
    assert found.settings[0].reach == Length.of(".0002")


def test_an_oversize_ring_gets_a_setting_of_its_own_by_rising_bore():
    found = plan(port("3E", "1.6361"), port("1E", "1.6261"), port("2E", "1.6265"))
    assert [one.ports for one in found.settings] == [("1E", "2E"), ("3E",)]
    assert found.settings[0].bore < found.settings[1].bore


def test_a_window_shrinks_at_both_ends_by_uncertainty_and_repeatability():
    far = (port("1E", "1.6261", ".0002"), port("2E", "1.6275", ".0002"))
    assert len(plan(*far, repeatability=".0001").settings) == 1
    assert len(plan(*far, repeatability=".0002").settings) == 2


def test_a_window_of_one_point_is_possible_and_a_smaller_one_is_not():
    found = plan(port("1E", "1.6261", ".0010"), port("2E", "1.6261", ".0011"))
    assert [(one.bore, one.ports) for one in found.settings] == [(Length.of("1.6221"), ("1E",))]
    assert found.impossible == ("2E",)


def test_shown_distances_are_those_of_the_shown_figures_and_the_doubt_is_said_in_figures():
    found = plan(port("1E", "1.626154"), port("2E", "1.626198"), repeatability=".0001")
    lines = {step.symbol: step for step in found.working}
    assert lines["B1"].value == "1.62218"
    assert lines["1E"].text.startswith("aim 1.62215")
    assert lines["B1"].text.endswith("farthest from an aim .00003")
    assert lines["1E"].source == "OD − rule, less U .00020 + r .00010 at each end"


def test_when_no_position_is_possible_there_is_no_setting_but_a_working():
    found = plan(port("1E", "1.6261", ".005"))
    assert found.settings == ()
    assert found.impossible == ("1E",)
    assert found.working


def test_a_position_between_two_settings_goes_where_the_worst_distance_is_least():
    found = plan(
        port("1E", "1.6261"), port("2E", "1.6265"), port("3E", "1.6271"), port("4E", "1.6283")
    )
    # {1E, 2E}, {3E, 4E} would reach .0006; this reaches .0005.
    assert [one.ports for one in found.settings] == [("1E", "2E", "3E"), ("4E",)]


def test_of_equal_plans_the_smaller_bores_are_taken():
    found = plan(port("1E", "1.6261"), port("2E", "1.6271"), port("3E", "1.6281"))
    assert [(one.bore, one.ports) for one in found.settings] == [
        (Length.of("1.6221"), ("1E",)),
        (Length.of("1.6236"), ("2E", "3E")),
    ]


def test_intakes_and_exhausts_may_have_rules_of_their_own():
    tight = interference(least=Length.of(".0045"), aim=Length.of(".005"), most=Length.of(".006"))
    found = plan(port("1E", "1.6271", window=tight), port("1I", "1.6261"))
    assert [one.ports for one in found.settings] == [("1E", "1I")]
    assert found.settings[0].bore == Length.of("1.6221")


def test_an_aim_in_the_middle_of_a_nanometre_is_kept_until_the_end():
    window = interference(least=Length(76_200), most=Length(101_601))
    found = plan(PlannedPort("1E", Length(41_000_000), window, Length(0)))
    assert found.settings[0].bore == Length(40_911_100)  # 40 911 099.5, to even


def test_names_must_differ_and_there_must_be_one():
    with pytest.raises(OrderError) as refused:
        plan(port("1E", "1.6261"), port("2E", "1.6261"), port("1E", "1.6265"))
    assert refused.value.field == "ports[2].port"
    with pytest.raises(MissingError):
        plan()


@given(
    st.lists(
        st.tuples(
            st.integers(41_000_000, 41_300_000),
            st.lists(st.integers(0, 200_000), min_size=3, max_size=3).map(sorted),
            st.integers(0, 60_000),
        ),
        min_size=1,
        max_size=12,
    ),
    st.integers(0, 20_000),
)
def test_every_possible_position_is_in_one_setting_and_inside_its_shrunk_window(drawn, repeat):
    ports = [
        PlannedPort(
            str(number),
            Length(od),
            interference(least=Length(ends[0]), aim=Length(ends[1]), most=Length(ends[2])),
            Length(doubt),
        )
        for number, (od, ends, doubt) in enumerate(drawn)
    ]
    found = setting_plan(ports=ports, repeatability=Length(repeat))
    named = [name for one in found.settings for name in one.ports]
    assert sorted([*named, *found.impossible]) == sorted(port.port for port in ports)
    by_name = {port.port: port for port in ports}
    for one in found.settings:
        for name in one.ports:
            port, doubt = by_name[name], by_name[name].uncertainty + Length(repeat)
            fit = port.ring_od - one.bore
            assert port.window.least + doubt <= fit <= port.window.most - doubt
    for name in found.impossible:
        port = by_name[name]
        doubt = port.uncertainty + Length(repeat)
        assert port.window.least + doubt > port.window.most - doubt
