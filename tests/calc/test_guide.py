"""Guides against published fits: their sizes in print, and the grip and clearance beside them."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.decision import DecisionRule, Verdict
from app.calc.errors import CalculationError
from app.calc.guide import guide_fit, guide_shape, housing_bore, reamed_size, stem_clearance
from app.calc.materials import HeadMaterial
from app.calc.rules import Interference
from app.calc.units import Length

CHECKS = {
    "guide_fit": "workshop manuals of 1999 and 2000: guide, hole and grip printed apart",
    "housing_bore": "the same manuals: the hole from the guide and the grip",
    "stem_clearance": "2.3 L four-cylinder, 2005: guide, stem and clearance printed apart",
    "reamed_size": "the same engine: the guide's bore from stem and clearance",
    "guide_shape": "means, spreads and differences by `numpy`",
}
ZERO = Length(0)
BORES = st.lists(st.integers(5_000_000, 16_000_000), min_size=1, max_size=3)


def mm(text: str) -> Length:
    return Length.of(text, "mm")


def grip(outside: str, housing: str, least: str, most: str, warm: float = 20.0) -> tuple[str, str]:
    found = guide_fit(
        guide_od=[mm(outside)],
        housing=[mm(housing)],
        least=mm(least),
        most=mm(most),
        guide_uncertainty=ZERO,
        housing_uncertainty=ZERO,
        decision_rule=DecisionRule.SIMPLE,
        head_material=HeadMaterial.ALUMINIUM,
        head_temperature_c=warm,
        unit="mm",
    )
    return found.interference.mm(3), found.verdict.value


# Workshop manuals of 1999 and 2000 (2.4 L and 1.8 L four-cylinder, valve guide specifications)
# print guide, hole and interference apart: guide 11.023-11.034, hole 10.975-10.996, grip
# 0.027-0.059 mm; service guide 9.723-9.734, hole 9.685-9.696, grip 0.027-0.049 mm.
@pytest.mark.parametrize(
    ("guide", "hole", "printed"),
    [
        (("11.023", "11.034"), ("10.975", "10.996"), ("0.027", "0.059")),
        (("11.223", "11.234"), ("11.175", "11.196"), ("0.027", "0.059")),
        (("9.523", "9.534"), ("9.475", "9.496"), ("0.027", "0.059")),
        (("9.723", "9.734"), ("9.685", "9.696"), ("0.027", "0.049")),
    ],
)
def test_a_published_guide_and_hole_give_the_published_grip(
    guide: tuple[str, str], hole: tuple[str, str], printed: tuple[str, str]
) -> None:
    least, most = printed
    assert grip(guide[0], hole[1], least, most) == (least, Verdict.INSIDE.value)
    assert grip(guide[1], hole[0], least, most) == (most, Verdict.INSIDE.value)
    # One micrometre beyond either end of the hole is outside what is printed.
    over = (mm(hole[1]) + mm("0.001")).mm(3)
    under = (mm(hole[0]) - mm("0.001")).mm(3)
    assert grip(guide[0], over, least, most)[1] == Verdict.LOOSE.value
    assert grip(guide[1], under, least, most)[1] == Verdict.TIGHT.value


def test_a_published_hole_is_found_from_the_guide_and_the_grip() -> None:
    """The smallest hole is the largest guide's, the largest hole the smallest guide's."""
    window = Interference(mm("0.027"), Fraction(mm("0.043").nm), mm("0.059"))
    small = housing_bore(guide_od=[mm("11.023")], window=window, rule_source="print", unit="mm")
    large = housing_bore(guide_od=[mm("11.034")], window=window, rule_source="print", unit="mm")
    assert (large.bore_low.mm(3), small.bore_high.mm(3)) == ("10.975", "10.996")


def test_published_clearances_follow_from_published_bores_and_stems() -> None:
    """2.3 L four-cylinder, 2005: guide 6.000-6.012, stem 5.965-5.980, clearance 0.020-0.047 mm."""
    widest = stem_clearance(guide=[mm("6.012")], stem=[mm("5.965")], unit="mm")
    closest = stem_clearance(guide=[mm("6.000")], stem=[mm("5.980")], unit="mm")
    assert (closest.least.mm(3), widest.most.mm(3)) == ("0.020", "0.047")
    back = reamed_size(
        stem=[mm("5.965"), mm("5.980")], least=mm("0.020"), most=mm("0.047"), rule_source="print"
    )
    assert (back.low.mm(3), back.high.mm(3)) == ("6.000", "6.012")


def test_a_warm_aluminium_head_hides_grip() -> None:
    """11 mm of aluminium 20 K too warm: 11 x 20 x 21.5e-6 = 0.0047 mm."""
    cold = grip("11.030", "11.000", "0.02", "0.05")
    warm = grip("11.030", "11.000", "0.02", "0.05", 40.0)
    assert cold[0] == "0.030"
    assert warm[0] == "0.035"


def test_the_wider_end_is_the_bell_mouth_and_a_worn_middle_is_none() -> None:
    inch = Length.of
    found = guide_shape(top=[inch(".3436")], middle=[inch(".3434")], bottom=[inch(".3446")])
    assert (found.bell_mouth.inches(4), found.end) == (".0012", "bottom")
    assert found.out_of_round is None
    barrel = guide_shape(top=[inch(".3434")], middle=[inch(".3438")], bottom=[inch(".3435")])
    assert barrel.bell_mouth.nm < 0


@given(BORES, BORES, BORES)
def test_the_shape_of_a_guide_is_that_of_its_means(
    top: list[int], middle: list[int], bottom: list[int]
) -> None:
    found = guide_shape(
        top=[*map(Length, top)], middle=[*map(Length, middle)], bottom=[*map(Length, bottom)]
    )
    over = np.array([np.mean(top), np.mean(bottom)]) - np.mean(middle)
    assert found.top_over.nm == pytest.approx(over[0], abs=0.51)
    assert found.bottom_over.nm == pytest.approx(over[1], abs=0.51)
    assert found.bell_mouth.nm == pytest.approx(over.max(), abs=0.51)
    spreads = [np.ptp(read) for read in (top, middle, bottom) if len(read) > 1]
    assert (found.out_of_round.nm if found.out_of_round is not None else None) == max(
        spreads, default=None
    )


def test_a_guide_needs_all_three_heights_and_a_window_in_order() -> None:
    one = [Length.of(".3434")]
    with pytest.raises(CalculationError) as no:
        guide_shape(top=one, middle=[], bottom=one)
    assert no.value.field == "middle"
    with pytest.raises(CalculationError) as no:
        reamed_size(stem=one, least=Length.of(".003"), most=Length.of(".001"), rule_source="shop")
    assert no.value.field == "least"
    with pytest.raises(CalculationError) as no:
        reamed_size(
            stem=[Length.of(".3412"), Length.of(".3434")],
            least=Length.of(".001"),
            most=Length.of(".002"),
            rule_source="shop",
        )
    assert no.value.field == "most"


def test_the_working_of_a_guide_never_calls_it_a_ring() -> None:
    found = guide_fit(
        guide_od=[Length.of(".5020")],
        housing=[Length.of(".5005")],
        least=Length.of(".001"),
        most=Length.of(".002"),
        guide_uncertainty=Length.of(".0001"),
        housing_uncertainty=Length.of(".0002"),
        decision_rule=DecisionRule.SIMPLE,
    )
    assert found.calculation.name == "guide_fit"
    assert not [step for step in found.working if "ring" in step.text or "ring" in step.symbol]
    assert [step.value for step in found.working[:3]] == [".50200", ".50050", ".00150"]
