"""Saving a pocket with a larger ring, and ordering one."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.materials import HeadMaterial
from app.calc.pocket import MetalLimits, Neighbour, OldPocket
from app.calc.rescue import Answer, Candidate, Rescue, RescueRing, RingPlace, rescue
from app.calc.rules import Interference, rule_for
from app.calc.units import Length
from app.calc.wanted_ring import WantedRing, least_bore, most_bore, wanted_ring

CHECKS = {
    "rescue": "brute force over every ring by the trade's clean-up rule, written out in fractions; "
    "computed trade figures: old bore 1.6150, run-out .006, ring 1.6261 does not clean up, +.010 "
    "does (consistency)",
    "wanted_ring": "brute force over every OD, written out in fractions",
    "least_bore": "the trade's clean-up rule solved for the bore; brute force",
    "most_bore": "the trade's wall and web rules solved for the bore; brute force",
}

LIMITS = MetalLimits(
    stock=Length.of(".001"),
    floor_clean_up=Length.of(".002"),
    least_wall=Length.of(".095"),
    least_web=Length.of(".060"),
)
POCKET = OldPocket(
    bore_max=Length.of("1.6150"),
    run_out=Length.of(".006"),
    deepest_floor=Length.of(".2450"),
    thinnest_wall=Length.of(".1100"),
)
UNKNOWN = OldPocket(None, None, None, None)
EXACTLY_FOUR = Interference(Length.of(".004"), Fraction(Length.of(".004").nm), Length.of(".004"))


def shelf(name: str, od: str, height: str = ".2500", ring_id: str | None = None) -> RescueRing:
    inside = None if ring_id is None else Length.of(ring_id)
    return RescueRing(name, RingPlace.SHELF, Length.of(od), Length.of(height), inside, True)


def listed(name: str, od: str) -> RescueRing:
    return RescueRing(name, RingPlace.SIZE_LIST, Length.of(od), Length.of(".2500"), None, False)


def looked_for(*rings: RescueRing, pocket: OldPocket = POCKET, **more) -> Rescue:
    asked = {
        "neighbours": [],
        "limits": LIMITS,
        "material": HeadMaterial.GREY_IRON,
        "protrusion": Length(0),
        **more,
    }
    return rescue(rings=rings, pocket=pocket, **asked)


def answers(candidate: Candidate) -> dict[str, Answer]:
    return {finding.question: finding.answer for finding in candidate.findings}


def test_the_standard_ring_does_not_clean_up_and_the_next_oversize_does():
    """Computed trade figures (consistency): B 1.6221 leaves .00355 < .004; +.010 leaves .00855."""
    found = looked_for(shelf("+.010", "1.6361"), shelf("standard", "1.6261"), window=EXACTLY_FOUR)
    standard, oversize = found.candidates
    assert answers(standard)["cleans up the old wall"] is Answer.NO
    assert standard.findings[0].spare == Length.of("-.00045")
    assert answers(oversize)["cleans up the old wall"] is Answer.YES
    assert oversize.findings[0].spare == Length.of(".00455")
    assert found.smallest == oversize


def test_clean_up_is_asked_at_the_least_bore_and_metal_at_the_largest():
    candidate = looked_for(shelf("+.010", "1.6361")).candidates[0]
    assert candidate.bore_low == Length.of("1.6311")
    assert candidate.bore == Length.of("1.6321")
    assert candidate.bore_high == Length.of("1.6331")
    wall_spare = candidate.findings[2].spare
    assert wall_spare == Length.of("-.00405") + Length.of(".010")


def test_a_ring_too_low_for_the_old_floor_will_not_do():
    found = looked_for(shelf("low", "1.6361", height=".2469"))
    assert answers(found.candidates[0])["cleans up the old floor"] is Answer.NO
    assert found.smallest is None
    assert found.working[0].value == "none"


def test_a_recessed_ring_reaches_deeper():
    found = looked_for(shelf("low", "1.6361", height=".2469"), protrusion=Length.of("-.0001"))
    assert found.smallest is not None


def test_a_ring_that_would_thin_the_wall_too_far_will_not_do():
    found = looked_for(shelf("+.040", "1.6661"))
    assert answers(found.candidates[0])["leaves the wall behind it"] is Answer.NO
    assert found.smallest is None


def test_a_ring_that_would_break_into_its_neighbour_will_not_do():
    beside = Neighbour("3I", Length.of("1.7000"), Length.of("1.7200"))
    found = looked_for(shelf("+.010", "1.6361"), neighbours=[beside])
    assert answers(found.candidates[0])["leaves the web to 3I"] is Answer.NO


def test_what_is_not_known_rules_no_ring_out_and_is_listed():
    beside = Neighbour("3I", Length.of("1.7000"), None)
    found = looked_for(
        shelf("standard", "1.6261"),
        pocket=UNKNOWN,
        neighbours=[beside],
        ring_id_most=Length.of("1.400"),
    )
    assert found.smallest is not None
    assert found.smallest.not_known == (
        "cleans up the old wall",
        "cleans up the old floor",
        "leaves the wall behind it",
        "leaves the web to 3I",
        "leaves metal for the seat",
    )
    assert all(finding.spare is None for finding in found.smallest.findings)
    assert sum("not known" in step.text for step in found.working) == 5


def test_a_ring_in_print_is_measured_before_its_bore_means_anything():
    found = looked_for(listed("+.010", "1.6361"))
    assert found.smallest is not None
    assert found.smallest.words("in") == "needs about bore 1.6321, measure it first"
    assert "measure the ring first" in found.working[2].text


def test_a_measured_ring_names_its_bore():
    found = looked_for(shelf("+.010", "1.6361"))
    assert found.smallest is not None
    assert found.smallest.words("mm") == "needs bore 41.455"


def test_of_two_rings_of_one_size_the_one_on_the_shelf_comes_first():
    found = looked_for(listed("a", "1.6361"), shelf("b", "1.6361"))
    assert found.smallest is not None
    assert found.smallest.ring.name == "b"


def test_a_ring_of_its_own_set_stands_before_one_of_the_shelf():
    own = replace(shelf("ring 4", "1.6361"), place=RingPlace.SET)
    found = looked_for(shelf("a", "1.6361"), own)
    assert [one.ring.name for one in found.candidates] == ["ring 4", "a"]


def test_what_would_be_cut_and_left_is_said_beside_what_is_to_spare():
    """By hand: (1.6311 − 1.6150)/2 − .003; .250 − .245; .110 − (1.6331 − 1.6150)/2;
    1.720 − (1.6331 + 1.600)/2."""
    beside = Neighbour("3I", Length.of("1.600"), Length.of("1.720"))
    found = looked_for(shelf("+.010", "1.6361"), neighbours=[beside])
    assert [one.figure for one in found.candidates[0].findings] == [
        Length.of(".00505"),
        Length.of(".0050"),
        Length.of(".10095"),
        Length.of(".10345"),
    ]


def test_a_size_listed_without_a_height_says_nothing_of_the_floor():
    found = looked_for(replace(listed("+.010", "1.6361"), height=None))
    assert found.smallest is not None
    assert found.smallest.depth is None
    assert answers(found.smallest)["cleans up the old floor"] is Answer.NOT_KNOWN


def test_a_ring_open_too_wide_for_the_seat_will_not_do():
    found = looked_for(
        shelf("wide", "1.6361", ring_id="1.410"),
        shelf("narrow", "1.6371", ring_id="1.390"),
        ring_id_most=Length.of("1.400"),
    )
    assert found.smallest is not None
    assert found.smallest.ring.name == "narrow"


def test_the_window_follows_each_rings_own_size():
    pocket = replace(POCKET, bore_max=Length.of("1.2300"), thinnest_wall=None)
    found = looked_for(shelf("a", "1.2499"), shelf("b", "1.2500"), pocket=pocket)
    assert [one.window.most for one in found.candidates] == [
        Length.of(".0040"),
        Length.of(".0050"),
    ]


def test_rings_without_a_rule_are_named_and_left_out():
    only_small = [rule_for(material=HeadMaterial.GREY_IRON, ring_od=Length.of("1.0"))]
    found = looked_for(
        shelf("small", "1.2000"), shelf("large", "1.6361"), pocket=UNKNOWN, rules=only_small
    )
    assert found.without_rule == ("large",)
    assert [one.ring.name for one in found.candidates] == ["small"]


def test_an_empty_shelf_still_says_what_to_order():
    found = looked_for()
    assert found.smallest is None
    assert found.wanted.exists
    assert found.working[0].value == "none"


def wanted(pocket: OldPocket = POCKET, **more) -> WantedRing:
    asked = {
        "neighbours": [],
        "limits": LIMITS,
        "material": HeadMaterial.GREY_IRON,
        "protrusion": Length(0),
        **more,
    }
    return wanted_ring(pocket=pocket, **asked)


def test_the_wanted_ring_has_a_range_a_height_and_an_inside():
    found = wanted(ring_id_most=Length.of("1.400"))
    assert found.od_least == Length.of("1.6280")
    assert found.od_most == Length.of("1.6480")
    assert found.height_least == Length.of(".2470")
    assert found.ring_id_most == Length.of("1.400")
    assert found.not_known == ()


def test_an_end_that_nothing_known_bounds_stays_open_and_says_so():
    found = wanted(replace(POCKET, thinnest_wall=None, deepest_floor=None))
    assert found.od_least == Length.of("1.6280")
    assert found.od_most is None
    assert found.height_least is None
    assert found.not_known == ("old floor", "wall behind the pocket", "inside diameter")


def test_a_pocket_of_which_nothing_is_known_asks_for_everything():
    found = wanted(UNKNOWN)
    assert found.exists
    assert (found.od_least, found.od_most) == (None, None)
    assert "old pocket's largest diameter" in found.not_known


def test_no_ring_is_wanted_when_none_could_do():
    found = wanted(replace(POCKET, thinnest_wall=Length.of(".0960")))
    assert not found.exists
    assert (found.od_least, found.od_most) == (None, None)
    assert any("no ring" in step.text for step in found.working)


def test_the_range_stops_where_a_larger_rings_heavier_fit_no_longer_cleans_up():
    """At 1.25 in the most interference jumps by .0010, so just above it too little is cut."""
    bore = Length.of("1.2405")
    pocket = OldPocket(bore, Length.of(".003"), None, Length.of(".120"))
    found = wanted(pocket)
    assert found.od_least == Length.of("1.2495")
    assert found.od_most == Length.of("1.25") - Length(1)


def test_without_any_rule_for_the_material_nothing_is_wanted_from():
    with pytest.raises(CalculationError) as refused:
        wanted(rules=[])
    assert refused.value.field == "interference"


@given(
    bore=st.integers(1_500, 2_100),
    run_out=st.integers(0, 12),
    wall=st.integers(90, 130),
    centres=st.integers(1_600, 2_000),
    material=st.sampled_from(list(HeadMaterial)),
)
def test_ordering_and_rescue_agree_with_brute_force(bore, run_out, wall, centres, material):
    """Every OD on a .001 in grid, judged by the trade's rules written out in fractions."""
    thou = 25_400
    pocket = OldPocket(Length(bore * thou), Length(run_out * thou), None, Length(wall * thou))
    beside = Neighbour("3I", Length(1_600 * thou), Length(centres * thou))
    rings = [
        RescueRing(str(od), RingPlace.SHELF, Length(od * thou), Length.of(".25"), None, True)
        for od in range(bore - 5, bore + 60)
    ]

    def will_do(ring: RescueRing) -> bool:
        fit = rule_for(material=material, ring_od=ring.od).interference
        low, high = ring.od.nm - fit.most.nm, ring.od.nm - fit.least.nm
        cleans = Fraction(low - bore * thou, 2) >= Fraction(run_out * thou, 2) + thou
        wall_then = wall * thou - Fraction(high - bore * thou, 2)
        web = centres * thou - Fraction(high + 1_600 * thou, 2)
        return bool(cleans and wall_then >= 95 * thou and web >= 60 * thou)

    possible = [ring.od for ring in rings if will_do(ring)]
    found = looked_for(*rings, pocket=pocket, neighbours=[beside], material=material)
    assert [one.ring.od for one in found.candidates if one.is_possible] == possible
    assert (found.smallest.ring.od if found.smallest else None) == min(possible, default=None)
    if possible:
        assert found.wanted.od_least is not None
        assert found.wanted.od_most is not None
        assert found.wanted.od_least <= min(possible) <= found.wanted.od_most
        assert min(possible).nm - found.wanted.od_least.nm < thou
    low, high = (
        least_bore(pocket=pocket, limits=LIMITS),
        most_bore(pocket=pocket, neighbours=[beside], limits=LIMITS),
    )
    assert low == Length((bore + run_out + 2) * thou)
    assert high == (
        Length(min(bore + 2 * (wall - 95), 2 * (centres - 60) - 1_600) * thou),
        [],
    )
