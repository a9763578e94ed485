"""Every figure that calculations work by, with its source: what the page of sources lists.

A new constant is registered here or in the module of its topic: `cutting_constants`,
`material_constants`, `fit_constants`.
Values are taken from where they stand, so that a page cannot show another figure than is used.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from app.calc import (
    bore,
    label,
    leak_test,
    materials,
    quantities,
    rules,
    size_series,
    sources,
    target,
    units,
)
from app.calc.constant import Constant, Section
from app.calc.cutting_constants import CUTTING_CONSTANTS
from app.calc.fit_constants import FIT_CONSTANTS
from app.calc.material_constants import MATERIAL_CONSTANTS
from app.calc.quantities import LengthRange, NumberRange
from app.calc.rules import Adjustment, Rule
from app.calc.units import decimal_text, trimmed


def _sizes() -> Iterable[Constant]:
    here = Section.SIZES
    yield Constant(
        here,
        "an inch",
        trimmed(decimal_text(Fraction(units.NM_PER_UNIT["in"], units.NM_PER_UNIT["mm"]), 4)),
        "mm",
        sources.INCH,
        "every size: kept in whole nanometres, exact both ways",
        ("units.NM_PER_UNIT",),
    )
    yield Constant(
        here,
        "an inch of mercury",
        trimmed(decimal_text(leak_test.PA_PER_INHG, 3)),
        "Pa",
        sources.INCH_OF_MERCURY,
        "vacuum test: what a gauge in kPa reads",
        ("leak_test.PA_PER_INHG",),
    )
    yield Constant(
        here,
        "temperature at which sizes hold",
        str(materials.REFERENCE_C),
        "°C",
        sources.REFERENCE_TEMPERATURE,
        "ring sizes, bores, interferences, fits in heat",
        ("materials.REFERENCE_C",),
    )
    yield Constant(
        here,
        "expansion of a gauge's scale",
        _ppm(materials.GAUGE_ALPHA_PER_K),
        "1e-6/K",
        sources.GAUGE_SCALE,
        "ring OD at 20 °C, what the gauge should read today, verdict, possible error",
        ("materials.GAUGE_ALPHA_PER_K",),
    )
    yield Constant.of_length(
        here,
        "readings of a ring this far apart are asked about",
        bore.OD_SPREAD_LIMIT,
        sources.READING_HABIT,
        "ring set, every grid of readings",
        ("bore.OD_SPREAD_LIMIT",),
        "readings_apart",
    )
    yield from (
        Constant.of_length(
            here,
            f"ring over its label, {words}, that may have the interference in it",
            limit,
            sources.FIT_HABIT,
            "label question on the ring set's page",
            (f"label.{name}",),
        )
        for words, limit, name in (
            ("least", label.BUILT_IN_LEAST, "BUILT_IN_LEAST"),
            ("most", label.BUILT_IN_MOST, "BUILT_IN_MOST"),
        )
    )
    yield from (
        Constant(
            here,
            f"seat rings in print: {words}",
            " ".join(step.shown(unit, places, 2) for step in steps),
            unit,
            sources.OVERSIZE_SERIES,
            "size list: proposed when a series is added, each can be left out",
            (f"size_series.{name}",),
        )
        for name, words, steps, unit, places in (
            ("INCH_STEPS", "oversizes in inch", size_series.INCH_STEPS, "in", 3),
            ("MM_STEPS", "oversizes in millimetre", size_series.MM_STEPS, "mm", 2),
            ("BLANK_STEPS", "steps of blanks", size_series.BLANK_STEPS, "in", 6),
        )
    )
    yield Constant(
        here,
        "sizes of one series, at most",
        str(size_series.MOST_SIZES),
        "sizes",
        sources.PLAUSIBLE,
        "size list: a longer series is refused",
        ("size_series.MOST_SIZES",),
    )
    yield from _ranges()


_RANGES: tuple[tuple[str, str, str], ...] = (
    ("DIAMETER", "a ring, a bore or a valve head", "ring set, old pocket, cut and gauge"),
    ("PLUG_OR_DIAMETER", "a ring's inside; 0 for a plug", "pressed ring in the interface"),
    ("HEAD_DIAMETER", "metal around a bore", "pressed ring in the interface"),
    ("HEIGHT", "a ring's height or a depth", "ring set, depth"),
    ("GUIDE", "a guide bore, a pilot or a stem", "guides, pilots"),
    ("REACH", "a guide's length, an overhang, a quill's travel", "pilots, depth stop"),
    ("FIT", "an interference", "rules, targets"),
    ("OVERCUT", "an overcut", "settings"),
    ("ALLOWANCE", "stock, run-out, deck stock", "old pocket, depth, seat finish"),
    ("PROTRUSION", "how far a ring stands proud", "depth"),
    ("RESOLUTION", "a division of an instrument", "crib, fixtures"),
    ("TEMPERATURE", "a temperature", "readings, fit in heat"),
    ("CURVE_TEMPERATURE", "a temperature on a curve of shrinking", "going in"),
    ("ALPHA", "an expansion", "materials"),
    ("YOUNG", "a modulus", "materials, pressed ring"),
    ("POISSON", "a Poisson's ratio", "materials, pressed ring"),
    ("FRICTION", "a friction", "pressed ring"),
    ("SURFACE_SPEED", "a surface speed", "spindle"),
    ("HARDNESS", "a hardness of a head", "inspections"),
    ("ANGLE", "an angle of a seat or cutter", "seat"),
)


def _ranges() -> Iterable[Constant]:
    for name, words, used in _RANGES:
        span: LengthRange | NumberRange = getattr(quantities, name)
        yield Constant(
            Section.SIZES,
            f"plausible for {words}",
            *_ends(span),
            sources.PLAUSIBLE,
            f"{used}: what lies outside is refused",
            (f"quantities.{name}",),
        )
    for name, words in (("LEAST_PER_MILLE", "least"), ("MOST_PER_MILLE", "most")):
        yield Constant(
            Section.SIZES,
            f"interference for each inch of ring, {words} that is not odd",
            trimmed(decimal_text(getattr(target, name), 2)),
            "thou/in",
            sources.PLAUSIBLE,
            "targets: what lies outside is asked about",
            (f"target.{name}",),
        )


def _ends(span: LengthRange | NumberRange) -> tuple[str, str]:
    """A range as its value and its unit; a range of lengths is set in millimetres."""
    if isinstance(span, LengthRange):
        return f"{trimmed(span.low.mm(4))} to {trimmed(span.high.mm(4))}", "mm"
    return span.words.removesuffix(span.unit).rstrip(), span.unit


def _rule(rule: Rule) -> Constant:
    """A band's window as a row."""
    fit = rule.interference
    return Constant(
        Section.INTERFERENCE,
        rule.words,
        " / ".join(one.inches(4) for one in (fit.least, fit.aim, fit.most)),
        "in, least / aim / most",
        sources.FIT_HABIT,
        "ring set, target, verdict",
        ("rules.DEFAULT_RULES",),
    )


def _adjustment(one: Adjustment) -> Constant:
    alike = one.low == one.high
    return Constant(
        Section.INTERFERENCE,
        f"suggested for: {one.words}",
        one.low.inches(4) if alike else f"{one.low.inches(4)} to {one.high.inches(4)}",
        "in, one at a time, never summed",
        sources.FIT_HABIT,
        "bore in the interface for other programs",
        ("rules.ADJUSTMENTS",),
    )


def _interference() -> Iterable[Constant]:
    yield from (_rule(rule) for rule in rules.DEFAULT_RULES)
    yield from (_adjustment(one) for one in rules.ADJUSTMENTS.values())
    yield Constant.of_length(
        Section.INTERFERENCE,
        "a ring is shallow under",
        rules.SHALLOW_RING,
        sources.FIT_HABIT,
        "suggestion for shallow rings",
        ("rules.SHALLOW_RING",),
    )


def _ppm(alpha_per_k: Fraction) -> str:
    return trimmed(decimal_text(alpha_per_k * 1_000_000, 2))


CONSTANTS: tuple[Constant, ...] = (
    *_sizes(),
    *_interference(),
    *CUTTING_CONSTANTS,
    *MATERIAL_CONSTANTS,
    *FIT_CONSTANTS,
)
