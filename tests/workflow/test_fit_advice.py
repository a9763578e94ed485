"""Advice explains, in conditional words; it never judges, blocks or promises."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.assembly import CHILLS, assembly
from app.calc.expansion import Curve
from app.calc.hot_expansion import RING_POINTS
from app.calc.materials import HeadMaterial
from app.calc.press_fit import Elastic, Parts, ring_id_closing
from app.calc.running_fit import CaseFit, heat_cases, running_fit
from app.calc.units import Length
from app.workflow.fit_advice import (
    ONE_HEAT,
    Advice,
    assembly_advice,
    closing_advice,
    heat_advice,
    size_advice,
)
from app.workflow.kinds import Unit

OD = Length.of("1.625")
IRON, ALUMINIUM = HeadMaterial.GREY_IRON, HeadMaterial.ALUMINIUM


def keys(found: Sequence[Advice]) -> list[str]:
    return [advice.key for advice in found]


def hot(interference: Length, material: HeadMaterial) -> tuple[CaseFit, ...]:
    cases = heat_cases(
        head_material=material, is_exhaust=True, ring_points=RING_POINTS["grey_iron"]
    )
    return running_fit(diameter=OD, interference=interference, cases=cases).cases


def in_heat(thou: float, material: HeadMaterial) -> tuple[Advice, ...]:
    cold = Length.of(f"{thou} thou")
    return heat_advice(cases=hot(cold, material), cold=cold, unit=Unit.INCH)


def going_in(thou: float, chill: str, cap_c: int = 150, others_in: bool = False):
    worked = assembly(
        diameter=OD,
        interference=Length.of(f"{thou} thou"),
        curve=None if chill == "none" else Curve.NICKEL_STEEL_9,
        alpha_per_k=11.3e-6 if chill == "none" else None,
        head_alpha_per_k=22e-6,
        ring_c=CHILLS[chill].ring_c,
        head_c=20,
        clearance_wanted=Length.of(".001"),
        head_cap_c=cap_c,
    )
    return assembly_advice(
        assembly=worked, others_in=others_in, head_is_heated=others_in, unit=Unit.INCH
    )


@pytest.mark.parametrize(
    ("thou", "material", "expected"),
    [
        (1.6, IRON, ["light_for_size"]),
        (1.625, IRON, []),
        (4.0, IRON, []),
        (4.0624, IRON, []),
        (4.1, IRON, ["tight_for_size"]),
        (4.8, ALUMINIUM, ["light_for_size"]),
        (7.0, ALUMINIUM, []),
        (9.8, ALUMINIUM, ["tight_for_size"]),
    ],
)
def test_a_fit_is_tight_or_light_for_its_size_outside_the_usual(thou, material, expected) -> None:
    found = size_advice(
        interference=Length.of(f"{thou} thou"), ring_od=OD, material=material, unit=Unit.INCH
    )
    assert keys(found) == expected


def test_the_figure_shown_lies_on_the_side_that_the_words_say() -> None:
    found = size_advice(
        interference=Length.of(".0040628"), ring_od=OD, material=IRON, unit=Unit.INCH
    )
    shown = re.search(r": ([\d.]+) thou", found[0].words)
    assert shown is not None
    assert float(shown[1]) > 2.5
    assert found[0].words.startswith("Tight for its size, by these readings")


def test_millimetres_are_told_in_micrometres_for_each_millimetre() -> None:
    found = size_advice(
        interference=Length.of("0.15 mm"), ring_od=Length.of("41 mm"), material=IRON, unit=Unit.MM
    )
    assert "3.7 µm for each mm of ring" in found[0].words


def test_an_overheat_would_loosen_a_light_aluminium_fit() -> None:
    found = in_heat(4, ALUMINIUM)
    assert "loosened_hot" in keys(found)
    assert found[-1].words.startswith("An overheat would loosen it, by these readings")


def test_a_full_aluminium_fit_keeps_enough_to_say_nothing() -> None:
    assert in_heat(8, ALUMINIUM) == ()


def test_no_grip_at_all_is_said_in_words() -> None:
    assert "no grip would be left" in in_heat(2, ALUMINIUM)[-1].words


def test_heat_tightens_in_iron_and_the_tightest_case_is_named() -> None:
    found = in_heat(4, IRON)
    assert keys(found) == ["tightens_hot"]
    assert "(hard)" in found[0].words


def test_cold_that_tightens_is_not_called_heat() -> None:
    found = in_heat(8, ALUMINIUM)
    assert "tightens_hot" not in keys(found)


def test_a_ring_of_unknown_expansion_is_asked_about_and_not_guessed() -> None:
    found = heat_advice(cases=None, cold=Length.of(".004"), unit=Unit.INCH)
    assert keys(found) == ["expansion_unknown"]
    assert "maker" in found[0].words


def test_what_is_little_left_is_the_shops_to_say() -> None:
    cold = Length.of(".007")
    strict = heat_advice(
        cases=hot(cold, ALUMINIUM), cold=cold, unit=Unit.INCH, little_left=Length.of(".004")
    )
    assert "loosened_hot" in keys(strict)
    assert "loosened_hot" not in keys(in_heat(7, ALUMINIUM))


def test_a_ring_that_cold_alone_lets_in_drops_in() -> None:
    found = going_in(1.5, "liquid_nitrogen")
    assert keys(found) == ["drops_in"]
    assert "by these readings" in found[0].words


def test_heat_under_the_cap_is_named_in_whole_degrees() -> None:
    found = going_in(5, "liquid_nitrogen")
    assert keys(found) == ["light_drive", "with_more_heat"]
    assert re.search(r"at about \d+ °C it would drop in", found[1].words)


def test_over_the_cap_it_is_told_how_the_ring_goes_at_the_cap() -> None:
    found = going_in(8, "dry_ice")
    assert keys(found) == ["press", "over_the_cap"]
    assert "Even at 150 °C" in found[1].words
    assert "light drive" in found[1].words


@given(st.integers(0, 150), st.sampled_from(sorted(CHILLS)), st.integers(60, 200))
def test_no_words_give_a_head_temperature_above_the_cap(
    tenths: int, chill: str, cap_c: int
) -> None:
    for advice in going_in(tenths / 10, chill, cap_c):
        for degrees in re.findall(r"(\d+) °C", advice.words):
            assert int(degrees) <= cap_c


def test_heating_with_rings_already_in_asks_for_one_heat() -> None:
    assert ONE_HEAT in [advice.words for advice in going_in(5, "dry_ice", others_in=True)]
    assert ONE_HEAT not in [advice.words for advice in going_in(5, "dry_ice")]


def test_a_ring_that_closes_is_cut_after_pressing() -> None:
    parts = Parts(Length.of("1.375"), OD, Length.of("2.125"), Elastic(120, 0.26), Elastic(72, 0.33))
    closing = ring_id_closing(interference=Length.of(".007"), parts=parts)
    found = closing_advice(closing=closing, unit=Unit.INCH)
    assert "close by about .003 in" in found[0].words
    none = ring_id_closing(interference=Length(0), parts=parts)
    assert closing_advice(closing=none, unit=Unit.INCH) == ()


def every_advice() -> list[Advice]:
    return [
        *size_advice(interference=Length.of(".009"), ring_od=OD, material=IRON, unit=Unit.INCH),
        *size_advice(interference=Length.of(".001"), ring_od=OD, material=IRON, unit=Unit.MM),
        *in_heat(2, ALUMINIUM),
        *in_heat(4, ALUMINIUM),
        *in_heat(4, IRON),
        *heat_advice(cases=None, cold=OD, unit=Unit.INCH),
        *going_in(1, "liquid_nitrogen", others_in=True),
        *going_in(5, "liquid_nitrogen"),
        *going_in(8, "dry_ice"),
        *going_in(14, "none"),
    ]


def test_advice_is_conditional_and_neither_promises_nor_commands() -> None:
    for advice in every_advice():
        words = advice.words.lower()
        assert not re.search(r"\b(safe|safely|guarantee|must|always|never|will)\b", words), words
        assert advice.source
    told = [advice for advice in every_advice() if advice.key not in ("one_heat",)]
    assert all(
        re.search(r"would|by these readings|not known", advice.words.lower()) for advice in told
    )


def test_advice_carries_no_colour_and_no_verdict() -> None:
    assert [field.name for field in fields(Advice)] == ["key", "words", "source"]
