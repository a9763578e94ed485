"""What fits, heat, verdicts and possible errors go by: for the page of sources."""

from __future__ import annotations

from collections.abc import Iterable

from app.calc import assembly, decision, gum, press_fit, repeatability, running_fit, sources
from app.calc.constant import Constant, Section
from app.calc.decision import DecisionRule
from app.calc.running_fit import HeatCase
from app.calc.sources import Source
from app.calc.units import decimal_text, trimmed

_CASES = (
    ("iron", "exhaust", "IRON_EXHAUST"),
    ("iron", "intake", "IRON_INTAKE"),
    ("aluminium", "exhaust", "ALUMINIUM_EXHAUST"),
    ("aluminium", "intake", "ALUMINIUM_INTAKE"),
)


def _heat_case(metal: str, kind: str, case: HeatCase, name: str) -> Constant:
    """An assumed case as a row."""
    return Constant(
        Section.HEAT,
        f"{metal}, {kind}: {case.name}",
        f"{case.ring_c} / {case.head_c}",
        "°C, ring / head at the bore",
        sources.HEAT_CASES,
        "fit in heat: ring set, setting, cut and gauge",
        (f"running_fit.{name}",),
    )


def _fit() -> Iterable[Constant]:
    here = Section.FIT
    for chill in assembly.CHILLS.values():
        yield Constant(
            here,
            f"ring, {chill.words}",
            f"{chill.ring_c:g}",
            "°C",
            chill.source,
            "whether a ring would drop in",
            ("assembly.CHILLS",),
            "chill",
        )
    for material, cap in assembly.HEAD_CAP_C.items():
        yield Constant(
            here,
            f"hottest head that is printed to follow, {material.words}",
            str(cap),
            "°C",
            sources.HEAT_CAP,
            "whether a ring would drop in",
            ("assembly.HEAD_CAP_C",),
            "head_c_cap_iron" if material.is_iron else "head_c_cap",
        )
    yield Constant(
        here,
        "a ring is pressed rather than driven lightly when this share of its interference is left",
        "1/2",
        "",
        sources.DROP_IN_WORDS,
        "whether a ring would drop in",
    )
    low, high = press_fit.DRY_METAL
    yield Constant(
        here,
        "friction of a pressed ring",
        f"{low:g} to {high:g}",
        "",
        sources.PRESS_FRICTION,
        "force of a pressed ring",
        ("press_fit.DRY_METAL",),
    )
    yield Constant.of_length(
        here,
        "metal behind a counterbore that takes part",
        press_fit.HEAD_WALL_DEFAULT,
        sources.HEAD_WALL,
        "pressed ring: pressure, stress, force",
        ("press_fit.HEAD_WALL_DEFAULT",),
        "metal_behind",
    )
    yield from (
        Constant(here, name, value, "", source, "pressed ring: pressure, stress, force")
        for name, value, source in (
            ("pressure, hoop stress, closing of a ring", "two thick rings", sources.LAME),
            ("stress to compare with a yield", "von Mises", sources.DISTORTION_ENERGY),
            ("a real counterbore carries more, by", "12 to 34 %", sources.FINITE_ELEMENTS),
        )
    )


_GUARDS = {
    DecisionRule.SIMPLE: "simple",
    DecisionRule.ISO_14253_1_2017: "ISO 14253-1:2017",
    DecisionRule.FULL_GUARD: "full guard",
}


def _verify() -> Iterable[Constant]:
    here = Section.VERIFY
    for rule, guard in decision.GUARDS.items():
        yield Constant(
            here,
            f"guard band, {_GUARDS[rule]}",
            trimmed(decimal_text(guard.share, 2)),
            "of U",
            guard.source,
            "verdict, holds",
            ("decision.GUARDS",),
            "decision_rule",
        )
    yield Constant(
        here,
        "coverage factor of a possible error",
        f"{gum.USUAL_K:g}",
        "",
        sources.COMBINED_BY_GUM,
        "possible error",
        ("gum.USUAL_K",),
    )
    yield from (
        Constant(here, name, value, "", source, used, stands_in)
        for name, value, source, used, stands_in in _PARTS_OF_ERROR
    )


_PARTS_OF_ERROR: tuple[tuple[str, str, Source, str, tuple[str, ...]], ...] = (
    ("parts of a possible error together", "√Σu²", sources.SUM_OF_SQUARES, "possible error", ()),
    ("what both sizes err by alike", "cancels", sources.SHARED_ERROR, "possible error", ()),
    ("limits alone are known", "a/√3", sources.RECTANGULAR, "instruments, temperatures", ()),
    ("one division", "d/√12", sources.INDICATION, "instruments", ()),
    ("a mean of n readings", "1/√n", sources.OF_A_MEAN, "ring OD, bore", ()),
    (
        f"readings of one size: standard deviation, from {repeatability.FEWEST} readings up",
        "n − 1",
        sources.REPEATED,
        "how well an instrument repeats",
        ("repeatability.FEWEST",),
    ),
    ("error of an instrument", "the larger", sources.LAST_CHECK, "instruments, last check", ()),
)


FIT_CONSTANTS: tuple[Constant, ...] = (
    *(
        _heat_case(metal, kind, case, name)
        for metal, kind, name in _CASES
        for case in getattr(running_fit, name)
    ),
    *_fit(),
    *_verify(),
)
