"""What a fit does in heat and cold, in words: conditional; no verdict, no block, no promise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from app.calc.assembly import Assembly, Way
from app.calc.materials import HeadMaterial
from app.calc.press_fit import CAVEAT, FORCE_CAVEAT, IdClosing
from app.calc.running_fit import OVERHEATED, CaseFit
from app.calc.shown import shown_nm
from app.calc.sources import FIT_HABIT, FIT_PER_INCH
from app.calc.units import Length, decimal_text
from app.workflow.kinds import Unit

BY_THESE_READINGS = "by these readings"
STRESS_CAVEAT = CAVEAT
PRESS_CAVEAT = FORCE_CAVEAT
# Thou for each inch of ring OD, which is also micrometres for each millimetre.
USUAL_PER_INCH: dict[HeadMaterial, tuple[Fraction, Fraction]] = {
    HeadMaterial.GREY_IRON: (Fraction(1), Fraction(5, 2)),
    HeadMaterial.DUCTILE_IRON: (Fraction(1), Fraction(5, 2)),
    HeadMaterial.ALUMINIUM: (Fraction(3), Fraction(6)),
}
# Below this a hot fit is called loosened; a shop can say otherwise.
LITTLE_LEFT = Length.of(".001")
LITTLE_LEFT_SOURCE = FIT_HABIT
ASSUMED = "temperatures assumed, they can be edited"
CAP = "the shop's cap"
GOES_IN = {
    Way.DROPS_IN: "drop in",
    Way.LIGHT_DRIVE: "go in with a light drive",
    Way.PRESS: "have to be pressed",
}
NOT_KNOWN = (
    "What the ring's material does in heat is not known here: with its maker's expansion figure "
    "the hot fit can be worked."
)
ONE_HEAT = (
    "Heating the head loosens rings already in it: rings that need heat go in together, in one "
    "heat."
)


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to know: a stable key, the words that come first, and where they come from."""

    key: str
    words: str
    source: str


def size_advice(
    *, interference: Length, ring_od: Length, material: HeadMaterial, unit: Unit
) -> tuple[Advice, ...]:
    """Tight or light for its size, or nothing to say."""
    per_inch = Fraction(interference.nm * 1000, ring_od.nm)
    low, high = USUAL_PER_INCH[material]
    if low <= per_inch <= high:
        return ()
    key, word = ("tight_for_size", "Tight") if per_inch > high else ("light_for_size", "Light")
    each = "thou for each inch" if unit is Unit.INCH else "µm for each mm"
    ends = f"{decimal_text(low, 1)} to {decimal_text(high, 1)}"
    return (
        Advice(
            key,
            f"{word} for its size, {BY_THESE_READINGS}: {_per_inch_shown(per_inch, low, high)} "
            f"{each} of ring; in {material.words} mostly {ends}.",
            FIT_PER_INCH.cited,
        ),
    )


def heat_advice(
    *,
    cases: Sequence[CaseFit] | None,
    cold: Length,
    unit: Unit,
    little_left: Length = LITTLE_LEFT,
) -> tuple[Advice, ...]:
    """What the assumed temperatures would leave; `cases` None when the expansion is not known."""
    if cases is None:
        return (Advice("expansion_unknown", NOT_KNOWN, "the ring's maker"),)
    found: list[Advice] = []
    for case in cases:
        if case.change.nm < 0 and case.interference < little_left:
            found.append(_loosened(case, unit))
    gains = [case for case in cases if case.change.nm > 0 and case.is_warm]
    if gains:
        most = max(gains, key=lambda case: case.change.nm)
        found.append(
            Advice(
                "tightens_hot",
                f"Heat would tighten it ({most.name}): about {_fit(most.interference, unit)} "
                f"against {_fit(cold, unit)} cold.",
                ASSUMED,
            )
        )
    return tuple(found)


def assembly_advice(
    *, assembly: Assembly, others_in: bool, head_is_heated: bool, unit: Unit, start: str = ""
) -> tuple[Advice, ...]:
    """How the ring would go in, with a head temperature that is never above the cap.

    `start` says how cold the ring and how warm the head: ``From dry ice, into a head at 20 °C,``.
    """
    words = _way_words(assembly, unit, start)
    found = [Advice(assembly.way.value, words, "expansion by the figures")]
    wants_heat = assembly.head_c_to_follow is not None
    if assembly.is_capped:
        found.append(
            Advice(
                "over_the_cap",
                f"Even at {assembly.head_c_to_follow} °C, the most that a head is heated to here, "
                f"it would {GOES_IN[assembly.way_to_follow]}: a colder ring helps.",
                CAP,
            )
        )
    elif wants_heat and assembly.way is not Way.DROPS_IN:
        found.append(
            Advice(
                "with_more_heat",
                f"With the head at about {assembly.head_c_to_follow} °C it would drop in.",
                "expansion by the figures",
            )
        )
    if others_in and head_is_heated:
        found.append(Advice("one_heat", ONE_HEAT, FIT_HABIT.cited))
    return tuple(found)


def closing_advice(*, closing: IdClosing, unit: Unit) -> tuple[Advice, ...]:
    """Seat sizes hold only after pressing."""
    if closing.ring_id_closes_by.nm <= 0:
        return ()
    by = shown_nm(closing.ring_id_closes_by.nm, unit.value, inch_places=3, mm_places=2)
    return (
        Advice(
            "bore_closes",
            f"Pressed, the ring's bore would close by about {by} {unit.value}: cut the seat after "
            "pressing, sizes taken before it do not hold.",
            closing.working[-1].source,
        ),
    )


def _loosened(case: CaseFit, unit: Unit) -> Advice:
    if case.interference.nm <= 0:
        left = "no grip would be left"
    else:
        left = f"about {_fit(case.interference, unit)} would be left"
    return Advice(
        "loosened_hot",
        f"{_case_words(case.name)} would loosen it, {BY_THESE_READINGS}: {left}.",
        ASSUMED,
    )


def _case_words(name: str) -> str:
    return "An overheat" if name == OVERHEATED else f"The case “{name}”"


def _way_words(assembly: Assembly, unit: Unit, start: str) -> str:
    gap = _fit(abs(assembly.clearance), unit)
    rest = "of clearance" if assembly.clearance.nm >= 0 else "still to be driven"
    it = f"{start} it" if start else "It"
    return f"{it} would {GOES_IN[assembly.way]}, {BY_THESE_READINGS}: about {gap} {rest}."


def _fit(length: Length, unit: Unit) -> str:
    return f"{shown_nm(length.nm, unit.value, inch_places=4, mm_places=3)} {unit.value}"


def _per_inch_shown(per_inch: Fraction, low: Fraction, high: Fraction) -> str:
    """One decimal, or as many as show on which side of the limit the figure lies."""
    for places in (1, 2, 3, 4):
        text = decimal_text(per_inch, places)
        if (Fraction(text) > high) == (per_inch > high) and (Fraction(text) < low) == (
            per_inch < low
        ):
            return text
    return decimal_text(per_inch, 5)
