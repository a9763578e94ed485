"""One fit worked out, against a hand-worked ring of 1.625 in.

The hand-worked table takes a ring of iron or sintered metal (E 120 GPa, ν .26, 11.8e-6/K), ID
1.375, height .250, .250 in of metal behind the bore, aluminium at 22e-6/K; it was worked out with
Lamé's formula and I(T) = I20 + d[αr(Tr−20) − αh(Th−20)] on paper, apart from this code.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from app.calc.hot_expansion import HEAD_POINTS, constant_expansion
from app.calc.materials import Expansion, HeadMaterial
from app.calc.press_fit import Elastic
from app.calc.sources import Mark, Source
from app.calc.stiffness import Stiffness
from app.calc.units import Length, exact
from app.workflow.fit_advice import NOT_KNOWN, ONE_HEAT, STRESS_CAVEAT
from app.workflow.heat_cases import DEFAULT_CASES, HeldCase, Metal
from app.workflow.kinds import Unit
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Kind, Material
from app.worksheets.fit_grip import Grip
from app.worksheets.fit_working import Fit, work_fit
from app.worksheets.materials import MaterialFigures, head_family, ring_family

IN = Length.of
BY_HAND = Source("by-hand", "worked by hand", Mark.WORKED_HERE)
DEFAULTS = ShopRules({})
SOAK = HeldCase("own_1", "hot soak", 200, 200, "by hand")
COLD = HeldCase("cold_start", "cold start", -30, -30, "by hand")
HARD = HeldCase("hard", "hard", 300, 200, "by hand")


def taken(figures: MaterialFigures, alpha: float, e_gpa: float, nu: float) -> MaterialFigures:
    """A material with the figures of the hand-worked table."""
    return replace(
        figures,
        points=constant_expansion(alpha_per_k=alpha, source=BY_HAND),
        expansion=Expansion(exact(alpha), BY_HAND),
        stiffness=Stiffness(Elastic(e_gpa, nu), "", BY_HAND, BY_HAND),
    )


RING = taken(ring_family("unknown"), 11.8e-6, 120, 0.26)
IRON = taken(head_family(HeadMaterial.GREY_IRON), 11.4e-6, 101.5, 0.26)
ALUMINIUM = taken(head_family(HeadMaterial.ALUMINIUM), 22e-6, 72.4, 0.33)


def grip(interference: str, head: MaterialFigures = ALUMINIUM, **changes: object) -> Grip:
    usual = Grip(
        unit=Unit.INCH,
        material=Material(head.family),
        kind=Kind.EXHAUST,
        interference=IN(interference),
        told="by hand",
        is_measured=True,
        ring_od=IN("1.625"),
        ring_id=IN("1.375"),
        ring_height=IN(".250"),
        ring=RING,
        head=head,
        others_in=False,
        ring_set_id=1,
    )
    return replace(usual, **changes)  # type: ignore[arg-type]


def worked(
    of: Grip,
    *cases: HeldCase,
    rules: dict[str, str] | None = None,
    names: tuple[str, ...] = ("3E",),
) -> Fit:
    held = {key: (value, "the test") for key, value in (rules or {}).items()}
    return work_fit(of, cases, ShopRules(held), names)


def keys(fit: Fit) -> list[str]:
    return [one.key for one in fit.says]


def step(fit: Fit, symbol: str) -> str:
    return next(
        one.value for one in (*fit.press_steps, *fit.assembly_steps) if one.symbol == symbol
    )


@pytest.mark.parametrize(
    ("interference", "case", "left"),
    [(".004", SOAK, ".0010"), (".007", SOAK, ".0040"), (".007", COLD, ".0078")],
)
def test_heat_takes_and_cold_gives_what_was_worked_by_hand(
    interference: str, case: HeldCase, left: str
) -> None:
    fit = worked(grip(interference), case)
    assert fit.cases[0].interference.inches(4) == left


def test_in_iron_a_hard_run_tightens_by_two_thou_as_worked_by_hand() -> None:
    fit = worked(grip(".004", IRON), HARD)
    # 1.625 × (11.8 × 280 − 11.4 × 180)e-6
    assert fit.cases[0].change.inches(4) == ".0020"
    assert "tightens_hot" in keys(fit)


@pytest.mark.parametrize(
    ("interference", "head", "pressure", "hoop", "mises", "bore", "force_kn"),
    [
        (".004", IRON, 28, 108, 125, -199, 3.5),
        (".007", ALUMINIUM, 41, 156, 179, -287, 5.0),
        (".009", ALUMINIUM, 52, 200, 231, -369, 6.5),
    ],
)
def test_pressure_stress_and_force_are_those_worked_by_hand(
    interference: str,
    head: MaterialFigures,
    pressure: float,
    hoop: float,
    mises: float,
    bore: float,
    force_kn: float,
) -> None:
    fit = worked(grip(interference, head))
    # Two digits are shown, and the table was rounded to whole MPa from a modulus of its own.
    for symbol, by_hand in (("p", pressure), ("σ_h", hoop), ("σ_vM", mises), ("σ_b", bore)):
        assert float(step(fit, symbol)) == pytest.approx(by_hand, rel=0.05)
    low, high = (float(one) for one in step(fit, "F").split(" to "))
    # The table's force is at friction .15, the middle of the range.
    assert (low + high) / 2000 == pytest.approx(force_kn, rel=0.05)


def test_the_rings_bore_closes_as_worked_by_hand_and_the_seat_is_to_be_cut_after() -> None:
    fit = worked(grip(".007"))
    assert float(step(fit, "Δa")) == pytest.approx(0.0033, abs=0.0001)
    assert "cut the seat after" in next(one.words for one in fit.says if one.key == "bore_closes")


def test_figures_of_a_press_have_two_digits_and_their_caveat() -> None:
    fit = worked(grip(".007"))
    for symbol in ("p", "σ_h", "σ_vM", "σ_r", "σ_b"):
        digits = step(fit, symbol).lstrip("-").rstrip("0").replace(".", "")
        assert len(digits) <= 2
    assert STRESS_CAVEAT in fit.caveats


def test_from_liquid_nitrogen_a_full_aluminium_fit_would_need_more_than_the_cap() -> None:
    fit = worked(grip(".007"), rules={"chill": "liquid_nitrogen"})
    told = " ".join(fit.going_in)
    # By hand 155 °C, over the cap of 150: the figure over the cap is never printed.
    assert "From liquid nitrogen at −196 °C, into a head at 20 °C" in told
    assert "Even at 150 °C, the most that a head is heated to here" in told
    assert not re.search(r"\b15[1-9] °C", told + str(fit.assembly_steps))


def test_the_shops_own_cap_and_chill_are_the_ones_that_count() -> None:
    lower = worked(grip(".004"), rules={"head_c_cap": "90", "chill": "dry_ice"})
    assert "Even at 90 °C" in " ".join(lower.going_in)
    enough = worked(grip(".004"), rules={"chill": "dry_ice"})
    told = re.search(r"With the head at about (\d+) °C it would drop in", " ".join(enough.going_in))
    assert told is not None
    # 20 + (4 + 1 − 1.7)/(22e-6 × 1.625) thou, the shrink from the table: 112 °C
    assert int(told[1]) == pytest.approx(112, abs=4)


def test_iron_has_a_cap_of_its_own() -> None:
    fit = worked(grip(".004", IRON), rules={"head_c_cap_iron": "80", "head_c_cap": "250"})
    assert "Even at 80 °C" in " ".join(fit.going_in)


def test_a_ring_that_is_not_chilled_needs_no_figure_to_say_how_it_goes_in() -> None:
    fit = worked(grip(".004", ring=ring_family("sintered")), rules={"chill": "none"})
    assert "Not chilled, into a head at 20 °C, it would have to be pressed" in fit.going_in[0]
    assert "s" not in [one.symbol for one in fit.assembly_steps]


def test_unknown_figures_are_asked_of_the_maker_and_nothing_is_guessed() -> None:
    fit = worked(grip(".004", IRON, ring=ring_family("sintered")), HARD)
    assert [one.words for one in fit.says] == [NOT_KNOWN]
    assert (fit.cases, fit.heat_steps, fit.assembly_steps, fit.press_steps) == ((), (), (), ())
    assert [words.split(" of the ring")[0] for words in fit.missing] == [
        "Expansion",
        "Modulus and Poisson's ratio",
    ]
    assert fit.going_in == fit.missing[:1]


def test_an_inside_that_was_not_read_is_asked_for() -> None:
    fit = worked(grip(".004", IRON, ring_id=None), HARD)
    assert fit.press_steps == ()
    assert "The ring's inside" in fit.missing[0]
    assert fit.assembly_steps


def test_rings_already_in_are_spoken_of_only_where_there_are_any() -> None:
    alone = worked(grip(".004"))
    among = worked(grip(".004", others_in=True))
    assert ONE_HEAT not in alone.going_in
    assert ONE_HEAT in among.going_in
    assert ONE_HEAT in [one.words for one in among.first]


def test_the_weightiest_words_come_before_the_fold() -> None:
    cases = DEFAULT_CASES[Metal.ALUMINIUM, Kind.EXHAUST]
    fit = worked(grip(".0035", others_in=True), *cases)
    assert fit.line is not None
    assert fit.line.key == "loosened_hot"
    assert len(fit.first) == 3
    assert set(fit.first) | set(fit.more) == set(fit.says)
    assert not set(fit.first) & set(fit.more)


def test_a_case_that_nobody_looks_at_says_nothing() -> None:
    fit = worked(grip(".004"))
    assert fit.cases == ()
    assert not {"loosened_hot", "tightens_hot", "expansion_unknown"} & set(keys(fit))


def test_the_shop_says_what_counts_as_little() -> None:
    assert "loosened_hot" not in keys(worked(grip(".0045"), SOAK))
    assert "loosened_hot" in keys(worked(grip(".0045"), SOAK, rules={"little_left": ".002 in"}))


def test_every_figure_of_the_working_says_where_it_comes_from() -> None:
    iron = grip(".004", head_family(HeadMaterial.GREY_IRON), ring=ring_family("chromium_steel"))
    fit = worked(iron, *DEFAULT_CASES[Metal.IRON, Kind.EXHAUST])
    steps = (*fit.heat_steps, *fit.assembly_steps, *fit.press_steps)
    assert {one.symbol for one in steps} >= {"I₂₀", "ΔI", "α_h", "α_r", "δ", "E_r", "E_h", "R_h"}
    for one in steps:
        assert one.source
        assert one.source != "as given" or one.symbol == "F", one


def test_an_aluminium_head_is_compared_with_what_heat_leaves_of_its_strength() -> None:
    head = head_family(HeadMaterial.ALUMINIUM)
    fit = worked(grip(".007", head), *DEFAULT_CASES[Metal.ALUMINIUM, Kind.EXHAUST])
    assert step(fit, "R_T") == "84"  # at 250 °C, as tabled


def test_the_working_of_heat_adds_up_as_shown() -> None:
    ring = replace(ring_family("chromium_steel"))
    head = replace(head_family(HeadMaterial.ALUMINIUM), points=HEAD_POINTS[HeadMaterial.ALUMINIUM])
    fit = worked(grip(".00712", head, ring=ring), *DEFAULT_CASES[Metal.ALUMINIUM, Kind.EXHAUST])
    for at in range(0, len(fit.heat_steps), 3):
        cold, change, left = (float(one.value) for one in fit.heat_steps[at : at + 3])
        assert round(cold + change, 5) == left
