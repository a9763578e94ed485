"""Which interference window applies, and what may move it."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import MissingError, OrderError
from app.calc.materials import HeadMaterial
from app.calc.rules import (
    DEFAULT_RULES,
    Rule,
    interference,
    rule_for,
    shifted,
    suggested_adjustments,
)
from app.calc.units import Length

CHECKS = {
    "interference": "the middle of .003 and .005 in is .004 in, the trade's own aim (common "
    "practice)",
    "rule_for": "common practice by material and ring OD; published iron fits of 1.0 to 2.4 thou "
    "per inch from US Army TM 5-6115-400-35 table 2.1 and TM 9-6115-604-34 table 1-4",
    "suggested_adjustments": "common practice of head shops",
    "shifted": "common practice: an adjustment moves the whole window",
}
IRON, ALUMINIUM = HeadMaterial.GREY_IRON, HeadMaterial.ALUMINIUM


@pytest.mark.parametrize(
    ("material", "ring_od", "window"),
    [
        (IRON, "1.2499", (".0020", ".0030", ".0040")),
        (IRON, "1.25", (".0030", ".0040", ".0050")),
        (IRON, "1.9999", (".0030", ".0040", ".0050")),
        (HeadMaterial.DUCTILE_IRON, "2.0", (".0040", ".0050", ".0060")),
        (ALUMINIUM, "1.2499", (".0050", ".0055", ".0060")),
        (ALUMINIUM, "1.25", (".0060", ".0070", ".0080")),
        (ALUMINIUM, "1.5", (".0070", ".0080", ".0090")),
    ],
)
def test_the_default_window_goes_by_material_and_ring_size(material, ring_od, window):
    found = rule_for(material=material, ring_od=Length.of(ring_od)).interference
    assert (found.least, found.aim, found.most) == tuple(Length.of(end) for end in window)


@pytest.mark.parametrize(
    ("bore", "ring_od"),
    # Middles of published ring and counterbore sizes of iron engines:
    # TM 5-6115-400-35 table 2.1, and TM 9-6115-604-34 table 1-4.
    [("1.6420", "1.6450"), ("1.6080", "1.61075"), ("2.3775", "2.3810")],
)
def test_published_iron_fits_lie_under_the_default_most(bore: str, ring_od: str):
    od = Length.of(ring_od)
    rule = rule_for(material=IRON, ring_od=od).interference
    assert od - Length.of(bore) <= rule.most
    assert Fraction(rule.aim_nm, od.nm) * 1000 < Fraction("2.5")


@given(st.sampled_from(HeadMaterial), st.integers(10_000_000, 150_000_000))
def test_every_material_and_size_has_exactly_one_default(material: HeadMaterial, nm: int):
    assert sum(rule.applies_to(material, Length(nm)) for rule in DEFAULT_RULES) == 1


def test_the_shops_newer_rule_goes_before_an_older_one():
    own = Rule(
        IRON,
        Length.of("1.5"),
        Length.of("1.75"),
        interference(least=Length.of(".0025"), most=Length.of(".0035")),
        "engine maker's figure",
    )
    rules = (*DEFAULT_RULES, own)
    assert rule_for(material=IRON, ring_od=Length.of("1.6261"), rules=rules) is own
    assert rule_for(material=IRON, ring_od=Length.of("1.7500"), rules=rules) is not own


def test_a_size_without_a_rule_asks_for_one():
    with pytest.raises(MissingError) as refused:
        rule_for(material=ALUMINIUM, ring_od=Length.of("1.6"), rules=())
    assert refused.value.field == "interference"


def test_an_aim_left_out_is_the_middle_even_on_a_half():
    window = interference(least=Length(76_200), most=Length(101_601))
    assert window.aim_nm == Fraction(177_801, 2)
    assert window.aim == Length(88_900)


@pytest.mark.parametrize(
    ("least", "aim", "most", "field"),
    [
        (".005", ".004", ".003", "min"),
        (".003", ".0029", ".005", "aim"),
        (".003", ".006", ".005", "aim"),
    ],
)
def test_a_window_out_of_order_is_refused(least: str, aim: str, most: str, field: str):
    with pytest.raises(OrderError) as refused:
        interference(least=Length.of(least), aim=Length.of(aim), most=Length.of(most))
    assert refused.value.field == field


def test_adjustments_are_listed_one_by_one_and_never_summed():
    found = suggested_adjustments(
        material=IRON,
        is_exhaust=True,
        runs_on_dry_gas=True,
        is_used_head=True,
        is_brittle_ring=True,
        ring_height=Length.of(".189"),
    )
    assert [one.key for one in found] == [
        "exhaust",
        "dry_gas",
        "used_head",
        "brittle_ring",
        "shallow_ring",
    ]
    assert all(one.source.endswith("common practice of head shops") for one in found)


def test_a_brittle_ring_is_no_reason_in_aluminium_and_a_deep_ring_is_none_at_all():
    found = suggested_adjustments(
        material=ALUMINIUM,
        is_exhaust=False,
        runs_on_dry_gas=False,
        is_used_head=False,
        is_brittle_ring=True,
        ring_height=Length.of(".190"),
    )
    assert found == ()


def test_an_adjustment_moves_the_whole_window():
    window = interference(least=Length.of(".003"), most=Length.of(".005"))
    moved = shifted(window=window, by=Length.of(".0005"))
    assert (moved.least, moved.aim, moved.most) == tuple(
        Length.of(end) for end in (".0035", ".0045", ".0055")
    )


def test_an_adjustment_never_leaves_a_loose_ring():
    window = interference(least=Length.of(".0005"), most=Length.of(".002"))
    with pytest.raises(OrderError):
        shifted(window=window, by=Length.of("-.0010"))


def test_a_rule_says_what_it_is_for():
    words = [rule.words for rule in DEFAULT_RULES if rule.material is ALUMINIUM]
    assert words == [
        "aluminium, ring OD under 1.25 in",
        "aluminium, ring OD 1.25 up to 1.50 in",
        "aluminium, ring OD from 1.50 in",
    ]
