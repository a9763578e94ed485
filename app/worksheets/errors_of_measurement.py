"""How far a measured interference may be wrong: from what it was read with to the calculation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from app.calc.gum import Part, combine_parts
from app.calc.materials import RING_MATERIALS
from app.calc.measurement_error import Gauge, SizeError, Taken, size_error, thermal_error
from app.calc.shown import shown_nm
from app.calc.trace import Step
from app.calc.units import Length, exact, root_nm
from app.calc.verify import Verification
from app.workflow.kinds import Quantity
from app.workflow.shop_rules import ShopRules
from app.worksheets.instruments import Checked
from app.worksheets.materials import MaterialFigures
from app.worksheets.readings import Readings

NOTHING = Length(0)
# A ring of unknown alloy is taken as read: any ring's expansion may be the one it has.
_WIDEST = max(
    family.expansion.alpha_per_k for family in RING_MATERIALS.values() if family.expansion
)
_UNREAD = Gauge(NOTHING, NOTHING)


@dataclass(frozen=True)
class SideError:
    """The possible error of one mean size, and what it was worked from."""

    expanded: Length
    parts: tuple[Part, ...]
    working: tuple[Step, ...]
    taken: Taken
    by: Checked | None  # None: a shop rule's figure stands in
    stands_in: str = ""


@dataclass(frozen=True, slots=True)
class ErrorPart:
    """One contribution as a page tells it: ± with k = 2, and its share of the whole."""

    words: str
    plus_minus: Length
    percent: int
    source: str


@dataclass(frozen=True)
class PossibleError:
    """What a verdict takes, and where it comes from, the largest part first."""

    ring: SideError
    bore: SideError
    heat: SizeError
    shared_master: Length
    shared_words: str
    expanded: Length
    parts: tuple[ErrorPart, ...]

    @property
    def stand_ins(self) -> tuple[str, ...]:
        """Why a shop rule's figure stands in, side by side."""
        return tuple(side.stands_in for side in (self.ring, self.bore) if side.stands_in)

    @property
    def most(self) -> str:
        """Where most of it comes from, in words."""
        return most_of(self.parts)


def most_of(parts: Sequence[ErrorPart]) -> str:
    """``most of it is the bore gauge's greatest error``; empty where nothing can be wrong."""
    if not parts:
        return ""
    lead = "most of it is" if parts[0].percent > 50 else "the largest part is"
    return f"{lead} {parts[0].words}"


def possible_error(
    *,
    diameter: Length,
    rings: Sequence[Readings],
    bore: Readings | None,
    ring_figures: MaterialFigures | None,
    head_figures: MaterialFigures | None,
    checked: Mapping[int, Checked],
    rules: ShopRules,
    unit: str,
    bore_gauge: Checked | None = None,
) -> PossibleError:
    """Combine what the rows say of both sizes.

    Of several rings the one that was read worst counts: any of them may go in. Without readings
    of the bore yet, `bore_gauge` is what it will be gauged with, at the shop's temperature.
    """
    ring = max(
        (_side("ring", one, _instrument(one, checked), ring_figures, rules, unit) for one in rings),
        key=lambda side: side.expanded,
    )
    by = bore_gauge if bore is None else _instrument(bore, checked)
    shared, words = _shared_master(ring, by)
    side = _side("bore", bore, by, head_figures, rules, unit, _zeroed_in(ring, by))
    shared = min(shared, side.taken.gauge.master) if side.by else NOTHING
    heat = thermal_error(
        diameter=diameter,
        ring=ring.taken,
        bore=side.taken,
        within_k=_fraction(rules, "temperature_within"),
        is_one_thermometer=all(one.by_the_shop for one in (*rings, *([bore] if bore else []))),
        unit=unit,
    )
    squared = sum(
        (part.squared_nm2 for part in (*ring.parts, *side.parts, *heat.parts)), Fraction(0)
    ) - Fraction(shared.nm**2, 2)
    return PossibleError(
        ring=ring,
        bore=side,
        heat=heat,
        shared_master=shared,
        shared_words=words if shared else "",
        expanded=root_nm(4 * squared),
        parts=_largest_first(ring, side, heat, shared, squared),
    )


def with_parts(verification: Verification, error: PossibleError) -> Verification:
    """The verdict with the parts of its possible error in its working, to be frozen with it."""
    before = {
        "U_ring": error.ring.working,
        "U_bore": error.bore.working,
        "U_T": _counting(error.heat),
    }
    working: list[Step] = []
    for step in verification.working:
        working += before.get(step.symbol, ())
        if step.symbol == "U_m":
            step = replace(step, text=f"{step.text}: {error.shared_words}")
        working.append(step)
    return replace(
        verification,
        working=tuple(working),
        inputs={
            **verification.inputs,
            "ring_taken": error.ring.taken,
            "ring_read_with": error.ring.by.instrument.id if error.ring.by else None,
            "bore_taken": error.bore.taken,
            "bore_read_with": error.bore.by.instrument.id if error.bore.by else None,
            "error_parts": error.parts,
            "stand_ins": error.stand_ins,
        },
    )


def _instrument(readings: Readings, checked: Mapping[int, Checked]) -> Checked | None:
    key = readings.set.with_instrument_id if readings.set else None
    return None if key is None else checked.get(key)


_QUANTITY = {"ring": Quantity.RING_OD, "bore": Quantity.BORE}
_TOOL = {"ring": "micrometer", "bore": "bore gauge"}
_SIZE = {"ring": "ring OD", "bore": "bore"}


def _side(
    side: str,
    readings: Readings | None,
    by: Checked | None,
    figures: MaterialFigures | None,
    rules: ShopRules,
    unit: str,
    zeroed_in: Length | None = None,
) -> SideError:
    alpha = figures.alpha_per_k if figures else None
    within = figures.within_per_k if figures else None
    if alpha is None:
        within = _WIDEST
    elif within is None:
        within = _fraction(rules, "expansion_within") / 1_000_000
    count = len(readings.of(_QUANTITY[side])) if readings else rules.whole("bore_readings")
    taken = Taken(
        gauge=_UNREAD,
        readings=max(count, 1),
        repeatability=NOTHING,
        temperature_c=readings.part_c if readings else rules.number("temperature_c"),
        alpha_per_k=alpha or 0,
        alpha_within_per_k=within,
    )
    if by is None or by.instrument.greatest_error is None:
        return _stand_in(side, by, taken, rules, unit)
    instrument = by.instrument
    master = by.before.master_uncertainty if by.before else None
    taken = replace(
        taken,
        gauge=Gauge(
            greatest_error=by.instrument.greatest_error,
            division=instrument.division,
            check_error=by.check_error,
            master=_first_known(zeroed_in, master, rules.length("master_uncertainty")),
        ),
        repeatability=_first_known(instrument.repeatability, rules.length("reading_repeatability")),
    )
    found = size_error(taken=taken, what=_SIZE[side], unit=unit)
    return SideError(found.expanded, found.parts, _counting(found), taken, by)


def _counting(found: SizeError) -> tuple[Step, ...]:
    """The parts that are not nothing, and their root; the total is said by the verdict."""
    steps = zip(found.working, found.parts, strict=False)
    return (*(step for step, part in steps if part.squared_nm2), found.working[-2])


def _stand_in(
    side: str, by: Checked | None, taken: Taken, rules: ShopRules, unit: str
) -> SideError:
    key = f"{side}_uncertainty"
    figure = rules.length(key)
    why = (
        f"the {_TOOL[side]} is not named" if by is None else f"{by.name}: greatest error not known"
    )
    told = f"{_SIZE[side]}: {why}, so the shop's figure stands in"
    part = Part("U_s", f"the shop's figure for a {_SIZE[side]}", Fraction(figure.nm**2, 4), "")
    return SideError(
        expanded=figure,
        parts=(replace(part, source=rules.source(key)),),
        working=(Step("U_s", told, shown_nm(figure.nm, unit), unit, rules.source(key)),),
        taken=taken,
        by=None,
        stands_in=told,
    )


def _zeroed_in(ring: SideError, by: Checked | None) -> Length | None:
    """The micrometer's own error, when the bore gauge was zeroed in the one that read the ring."""
    if ring.by is None or by is None or by.master_name != ring.by.name.strip().casefold():
        return None
    lasting = [part for part in ring.parts if part.symbol in ("u_i", "u_m")]
    return combine_parts(parts=lasting).expanded


def _shared_master(ring: SideError, by: Checked | None) -> tuple[Length, str]:
    """What both readings err by alike, and how that is known."""
    if ring.by is None or by is None:
        return NOTHING, ""
    own = _zeroed_in(ring, by)
    if own is not None:
        return own, f"{by.name} was zeroed in {ring.by.name}, which read the ring"
    if by.master_name and by.master_name == ring.by.master_name:
        assert by.before is not None
        return ring.taken.gauge.master, f"both were zeroed on {by.before.master_name.strip()}"
    return NOTHING, ""


def _largest_first(
    ring: SideError, bore: SideError, heat: SizeError, shared: Length, squared: Fraction
) -> tuple[ErrorPart, ...]:
    told = [(_words("ring", part), part) for part in ring.parts]
    told += [(_words("bore", part), part) for part in bore.parts]
    told += [(_heat_words(part.words), part) for part in heat.parts]
    if shared:
        told = _without_shared(told, ring, bore, shared)
    counting = [(words, part) for words, part in told if part.squared_nm2 > 0]
    counting.sort(key=lambda each: -each[1].squared_nm2)
    return tuple(
        ErrorPart(
            words,
            root_nm(4 * part.squared_nm2),
            round(100 * part.squared_nm2 / squared) if squared else 0,
            part.source,
        )
        for words, part in counting
    )


def _without_shared(
    told: list[tuple[str, Part]], ring: SideError, bore: SideError, shared: Length
) -> list[tuple[str, Part]]:
    """The masters' parts with what cancels taken out of both."""
    masters = {id(part) for part in (*ring.parts, *bore.parts) if part.symbol == "u_m"}
    if _zeroed_in(ring, bore.by) is not None:
        masters |= {id(part) for part in ring.parts if part.symbol == "u_i"}
    together = sum((part.squared_nm2 for _, part in told if id(part) in masters), Fraction(0))
    left = max(together - Fraction(shared.nm**2, 2), Fraction(0))
    rest = Part("u_m", "", left, "")
    return [
        *(each for each in told if id(each[1]) not in masters),
        ("what the shared master leaves", replace(rest, source="both less what cancels")),
    ]


def _words(side: str, part: Part) -> str:
    tool, size = _TOOL[side], _SIZE[side]
    by_check = "as its last check found" in part.words
    return {
        "u_i": f"what the {tool}'s check found" if by_check else f"the {tool}'s greatest error",
        "u_d": f"one division of the {tool}",
        "u_m": f"the master of the {tool}",
        "u_r": f"how well the {tool} repeats",
        "U_s": f"the shop's figure for a {size}",
    }[part.symbol]


def _heat_words(words: str) -> str:
    return words if words.startswith("one ") else f"the {words}"


def _first_known(*lengths: Length | None) -> Length:
    return next(length for length in lengths if length is not None)


def _fraction(rules: ShopRules, key: str) -> Fraction:
    return exact(rules.number(key))
