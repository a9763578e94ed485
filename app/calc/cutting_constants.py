"""What setting, cutting, pilots and spindle go by: for the page of sources."""

from __future__ import annotations

from collections.abc import Iterable

from app.calc import overcut, overcut_signs, pilot, sources, spindle
from app.calc.constant import Constant, Section
from app.calc.materials import HeadMaterial
from app.calc.units import decimal_text


def _cutting() -> Iterable[Constant]:
    here, habit = Section.CUTTING, sources.CUTTER_HABIT
    yield Constant(
        here,
        "overcut that a new setting uses",
        "mean of the tip's cuts",
        "",
        sources.MEAN_NOT_LAST,
        "setting, set size",
    )
    yield Constant(
        here,
        "share of an error to correct, after n earlier cuts",
        "1/(n + 1)",
        "",
        sources.SHRINKING_CORRECTIONS,
        "correction after a cut",
    )
    yield Constant.of_length(
        here,
        "leave the cutter alone within ±",
        overcut.DEAD_BAND,
        habit,
        "correction after a cut, overcut chart",
        ("overcut.DEAD_BAND",),
        "correction_dead_band",
    )
    yield Constant.of_length(
        here,
        "first pass under size by",
        overcut.FIRST_PASS_UNDER,
        habit,
        "first pass of a tip that is little known",
        ("overcut.FIRST_PASS_UNDER",),
        "first_pass_under",
    )
    yield Constant(
        here,
        "good cuts that make a tip known",
        str(overcut.ENOUGH_GOOD_CUTS),
        "cuts",
        habit,
        "whether a first pass is cut",
        ("overcut.ENOUGH_GOOD_CUTS",),
        "good_cuts_needed",
    )
    yield Constant(
        here,
        "d₂ of a range of two, from which limits of 3 standard deviations follow",
        decimal_text(overcut.D2_OF_TWO, 3),
        "",
        sources.INDIVIDUALS_CHART,
        "overcut chart: limits",
        ("overcut.D2_OF_TWO",),
    )
    yield Constant(
        here,
        "cuts from which the chart says anything",
        str(overcut_signs.FEWEST_CUTS),
        "cuts",
        sources.CHOSEN_HERE,
        "overcut chart",
        ("overcut_signs.FEWEST_CUTS",),
    )
    yield Constant(
        here,
        "cuts in a run on one side of the mean",
        str(overcut_signs.RUN_LENGTH),
        "cuts",
        sources.RUN_RULES,
        "overcut chart: shifted",
        ("overcut_signs.RUN_LENGTH",),
    )
    yield Constant(
        here,
        "cuts that grow or shrink one after the other",
        str(overcut_signs.TREND_LENGTH),
        "cuts",
        sources.RUN_RULES,
        "overcut chart: drifts",
        ("overcut_signs.TREND_LENGTH",),
    )
    yield Constant(
        here,
        "newest cuts to which a sign must belong to stand",
        str(overcut_signs.STANDS_FOR),
        "cuts",
        sources.CHOSEN_HERE,
        "overcut chart",
        ("overcut_signs.STANDS_FOR",),
    )
    yield from (
        Constant(
            here,
            f"tips of a thousand that show a sign by scatter alone, after {cuts} cuts",
            str(tips),
            "tips",
            sources.FALSE_SIGNS,
            "overcut chart: how far a sign is to be trusted",
            ("overcut_signs.FALSE_SIGNS_PER_THOUSAND",),
        )
        for cuts, tips in overcut_signs.FALSE_SIGNS_PER_THOUSAND.items()
    )
    yield Constant(
        here,
        "settings of a plan",
        "fewest that suit every position",
        "",
        sources.STABBING,
        "setting plan",
    )


def _guides() -> Iterable[Constant]:
    here = Section.GUIDES
    yield Constant(
        here,
        "clearance of a tapered pilot",
        "0",
        "in",
        sources.TAPERED_PILOT,
        "run-out at the cut by the pilot",
    )
    yield Constant.of_length(
        here,
        "a pilot with more clearance than this is loose",
        pilot.LOOSE,
        sources.CUTTER_HABIT,
        "guides, setting plan",
        ("pilot.LOOSE",),
        "pilot_loose",
    )
    for material, speeds in spindle.HEAD_SPEEDS_FT_MIN.items():
        metal = "aluminium" if material is HeadMaterial.ALUMINIUM else "iron"
        for end, speed in zip(("slowest", "fastest"), speeds, strict=True):
            yield Constant(
                here,
                f"surface speed to start with, {material.words}, {end}",
                str(speed),
                "ft/min",
                sources.CUTTER_HABIT,
                "spindle line beside the depth stop",
                ("spindle.HEAD_SPEEDS_FT_MIN",),
                f"speed_{metal}_{end}",
            )


CUTTING_CONSTANTS: tuple[Constant, ...] = (*_cutting(), *_guides())
