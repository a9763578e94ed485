"""Every figure that the shop's way of working goes by besides the calculations' own: with those,
what the page of sources lists.

A new constant of a module here is registered here.
"""

from __future__ import annotations

from collections.abc import Iterable

from app.calc import constants as of_calculations
from app.calc import quantities, sources
from app.calc.constant import Constant, Section
from app.calc.quantities import LengthRange
from app.calc.units import decimal_text, trimmed
from app.workflow import (
    doubtful,
    fit_advice,
    grids,
    heat_cases,
    periods,
    seats,
    settings,
    ways_out,
)
from app.workflow.kinds import Quantity


def _doubts() -> Iterable[Constant]:
    here = Section.SIZES
    yield Constant(
        here,
        "readings of one kind along a head, before one can stand apart from the others",
        str(doubtful.LEAST_ALIKE),
        "readings",
        sources.CHOSEN_HERE,
        "stem heights, guides",
        ("doubtful.LEAST_ALIKE",),
    )
    yield Constant.of_length(
        here,
        "depth that is asked about: away from what was wanted by more than",
        doubtful.DEPTH_ODD,
        sources.READING_HABIT,
        "cut and gauge",
        ("doubtful.DEPTH_ODD",),
    )
    yield Constant.of_length(
        Section.CUTTING,
        "overcut that is asked about, beyond ±",
        doubtful.OVERCUT_ODD,
        sources.CUTTER_HABIT,
        "setting, cut and gauge",
        ("doubtful.OVERCUT_ODD",),
        "overcut_odd",
    )
    yield Constant.of_length(
        Section.SEATS,
        "stem height that stands this far from the others of its kind is asked about",
        doubtful.STEMS_APART,
        sources.READING_HABIT,
        "stem heights",
        ("doubtful.STEMS_APART",),
        "stems_apart",
    )
    yield Constant.of_length(
        Section.GUIDES,
        "guide bore that stands this far from the others of its kind is asked about",
        doubtful.GUIDES_APART,
        sources.READING_HABIT,
        "guides",
        ("doubtful.GUIDES_APART",),
        "guides_apart",
    )
    yield Constant.of_length(
        here,
        "gap under a straight edge on a deck that is asked about, from",
        doubtful.FLATNESS_ODD,
        sources.READING_HABIT,
        "deck flatness",
        ("doubtful.FLATNESS_ODD",),
    )
    yield Constant(
        here,
        "hardness of a head that is not asked about",
        f"{doubtful.SOFTEST_HB:g} to {doubtful.HARDEST_HB:g}",
        "HB",
        sources.PLAUSIBLE,
        "inspections",
        ("doubtful.SOFTEST_HB", "doubtful.HARDEST_HB"),
    )
    for name, words in (("LEAST_THOU_PER_INCH", "least"), ("MOST_THOU_PER_INCH", "most")):
        yield Constant(
            Section.INTERFERENCE,
            f"window typed for a ring: {words} that is not asked about",
            trimmed(decimal_text(getattr(doubtful, name), 2)),
            "thou/in",
            sources.PLAUSIBLE,
            "ring set",
            (f"doubtful.{name}",),
        )


def _seats() -> Iterable[Constant]:
    yield Constant(
        Section.SEATS,
        "a valve's face that is asked about: from its seat's angle by more than",
        trimmed(f"{seats.ODD_FACE_APART_DEG}"),
        "°",
        sources.SEAT_HABIT,
        "seats wanted",
        ("seats.ODD_FACE_APART_DEG",),
    )


def _fits() -> Iterable[Constant]:
    yield Constant(
        Section.VERIFY,
        "cases, before a share or a scatter is drawn as the shop's",
        str(periods.FEWEST_CASES),
        "cases",
        sources.CHOSEN_HERE,
        "the office's figures",
        ("periods.FEWEST_CASES",),
    )
    for material, (low, high) in fit_advice.USUAL_PER_INCH.items():
        yield Constant(
            Section.INTERFERENCE,
            f"usual for its size, {material.words}",
            f"{trimmed(decimal_text(low, 1))} to {trimmed(decimal_text(high, 1))}",
            "thou/in (µm/mm)",
            sources.FIT_PER_INCH,
            "what the fit would do: tight or light for its size",
            ("fit_advice.USUAL_PER_INCH",),
        )
    yield Constant.of_length(
        Section.FIT,
        "a hot fit with less left than this is said to be loosened",
        fit_advice.LITTLE_LEFT,
        fit_advice.LITTLE_LEFT_SOURCE,
        "what the fit would do in heat",
        ("fit_advice.LITTLE_LEFT",),
        "little_left",
    )


def _cuts() -> Iterable[Constant]:
    here = Section.CUTTING
    yield Constant.of_length(
        here,
        "least cut, on diameter",
        ways_out.LEAST_CUT,
        sources.CUTTER_HABIT,
        "ways out of a hold",
        ("ways_out.LEAST_CUT",),
        "least_cut",
    )
    yield Constant(
        here,
        "touch the position again after",
        str(settings.CONFIRM_AFTER_MINUTES),
        "minutes",
        sources.CUTTER_HABIT,
        "cut and gauge",
        ("settings.CONFIRM_AFTER_MINUTES",),
        "touch_again_minutes",
    )
    yield Constant(
        here,
        "fixture's reading that is asked about: away from what was to be set by more than",
        trimmed(decimal_text(settings.NEAR * 100, 1)),
        "%",
        sources.PLAUSIBLE,
        "setting: the wrong kind of reading",
        ("settings.NEAR",),
    )


def _cases() -> Iterable[Constant]:
    here = Section.HEAT
    for name, words, unit, what in (
        ("LEAST_C", "coldest temperature of a case", "°C", "refused"),
        ("MOST_C", "hottest temperature of a case", "°C", "refused"),
        ("HOTTER_HEAD_K", "head hotter than its ring by more than", "K", "asked about"),
        ("HOT_ALUMINIUM_C", "aluminium head at the bore above", "°C", "asked about"),
        ("HOT_IRON_C", "iron head at the bore above", "°C", "asked about"),
    ):
        yield Constant(
            here,
            words,
            str(getattr(heat_cases, name)),
            unit,
            sources.PLAUSIBLE,
            f"heat cases as they are typed: what lies outside is {what}",
            (f"heat_cases.{name}",),
        )


_OF_SEATS = {
    *(Quantity.STEM_HEIGHT, Quantity.STEM_AFTER, Quantity.SEAT_WIDTH, Quantity.CONTACT_WIDTH),
    *(Quantity.CONTACT_FROM_EDGE, Quantity.VALVE_MARGIN, Quantity.TIP_GROUND),
    *(Quantity.SPRING_HEIGHT, Quantity.SPRING_SHIM),
}


def _spans() -> Iterable[Constant]:
    """What is typed and has a range of its own; the others have one of the calculations'."""
    shared = [one for one in vars(quantities).values() if isinstance(one, LengthRange)]
    for quantity, span in grids.PLAUSIBLE.items():
        if not any(span is one for one in shared):
            yield Constant(
                Section.SEATS if quantity in _OF_SEATS else Section.SIZES,
                f"plausible for what is typed as {quantity.screen}",
                f"{trimmed(span.low.mm(4))} to {trimmed(span.high.mm(4))}",
                "mm",
                sources.PLAUSIBLE,
                "readings: what lies outside is refused",
                (
                    "grids.PLAUSIBLE",
                    "grids._STEM",
                    "grids._SEAT_WIDTH",
                    "grids._WALL",
                    "grids._FLATNESS",
                    "grids._NEW_GUIDE",
                    "grids._RECESSION",
                ),
            )


CONSTANTS: tuple[Constant, ...] = (
    *of_calculations.CONSTANTS,
    *_doubts(),
    *_seats(),
    *_fits(),
    *_cuts(),
    *_cases(),
    *_spans(),
)
