"""What is known of heads and rings, figure by figure with its source: for the page of sources."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from app.calc import expansion, hot_expansion, materials, sources, stiffness
from app.calc.constant import Constant, Section
from app.calc.hot_expansion import MeanPoint
from app.calc.stiffness import Stiffness, Strength
from app.calc.units import decimal_text, exact, trimmed

_HOT = "fit in heat, ring and bore away from 20 °C"
_PRESSED = "pressed ring: pressure, stress, force"


def _head_rows() -> Iterable[Constant]:
    for material, points in hot_expansion.HEAD_POINTS.items():
        name = f"head, {material.words}"
        places = (
            ("materials.HEAD_EXPANSION", "hot_expansion.HEAD_POINTS"),
            ("hot_expansion.HEAD_POINTS",),
        )
        yield from _expansion_rows(name, points, places)
        yield from _stiffness_rows(
            name, stiffness.HEAD_STIFFNESS[material], "stiffness.HEAD_STIFFNESS"
        )
        yield _strength_row(name, stiffness.HEAD_STRENGTH[material], "stiffness.HEAD_STRENGTH")
    for to_c, left in stiffness.ALUMINIUM_HOT_YIELD_MPA:
        yield Constant(
            Section.MATERIALS,
            f"head, aluminium: yield that is left at {to_c} °C",
            str(left),
            "MPa",
            stiffness.ALUMINIUM_HOT_SOURCE,
            _PRESSED,
            ("stiffness.ALUMINIUM_HOT_YIELD_MPA",),
        )


def _ring_rows() -> Iterable[Constant]:
    for key, family in materials.RING_MATERIALS.items():
        name = f"ring, {family.words}"
        places = (
            ("materials.RING_MATERIALS", "hot_expansion.RING_POINTS"),
            ("hot_expansion.RING_POINTS",),
        )
        yield from _expansion_rows(name, hot_expansion.RING_POINTS[key], places)
        if key in stiffness.RING_STIFFNESS:
            found = stiffness.RING_STIFFNESS[key]
            yield from _stiffness_rows(name, found, "stiffness.RING_STIFFNESS")
        if key in stiffness.RING_STRENGTH:
            yield _strength_row(name, stiffness.RING_STRENGTH[key], "stiffness.RING_STRENGTH")


def _expansion_rows(
    name: str, points: Sequence[MeanPoint], places: tuple[tuple[str, ...], tuple[str, ...]]
) -> Iterable[Constant]:
    for nth, point in enumerate(points):
        yield Constant(
            Section.MATERIALS,
            f"{name}: mean expansion from 20 to {point.to_c} °C",
            _ppm(point.alpha_per_k),
            "1e-6/K",
            point.source,
            _HOT,
            places[min(nth, 1)],
        )


def _stiffness_rows(name: str, found: Stiffness, place: str) -> Iterable[Constant]:
    grade = f" ({found.words})" if found.words else ""
    yield Constant(
        Section.MATERIALS,
        f"{name}: modulus{grade}",
        f"{found.elastic.e_gpa:g}",
        "GPa",
        found.source,
        _PRESSED,
        (place,),
    )
    yield Constant(
        Section.MATERIALS,
        f"{name}: Poisson's ratio",
        f"{found.elastic.nu:g}",
        "",
        found.nu_source,
        _PRESSED,
        (place,),
    )


def _strength_row(name: str, found: Strength, place: str) -> Constant:
    low, high = (f"{one:g}" for one in (found.low_mpa, found.high_mpa))
    grade = f" ({found.words})" if found.words else ""
    return Constant(
        Section.MATERIALS,
        f"{name}: {found.kind.value}{' strength' if found.kind.value == 'tensile' else ''}{grade}",
        low if low == high else f"{low} to {high}",
        "MPa",
        found.source,
        "pressed ring: beside the stresses, to compare",
        (place,),
    )


def _curve_rows() -> Iterable[Constant]:
    for curve in expansion.CURVES.values():
        terms = ", ".join(f"{float(one):g}" for one in curve.coefficients)
        yield Constant(
            Section.MATERIALS,
            f"shrinking of {curve.words}: a, b, c, d, e, within {float(curve.error_percent):g} %, "
            f"up to {curve.highest_k} K",
            terms,
            f"1e-5; {float(curve.flat_1e5):g} below {curve.flat_below_k} K",
            curve.source,
            "whether a chilled ring would drop in",
            ("expansion.CURVES",),
        )
        yield Constant(
            Section.MATERIALS,
            f"shrinking of {curve.words}: expansion near 20 °C that kindred alloys are scaled by",
            _ppm(curve.room_alpha_per_k),
            "1e-6/K",
            curve.room_alpha_source,
            "whether a chilled ring would drop in",
            ("expansion.CURVES",),
        )
    yield Constant(
        Section.MATERIALS,
        "coldest end of the curves",
        str(expansion.LOWEST_K),
        "K",
        sources.CRYOGENIC_FITS,
        "whether a chilled ring would drop in",
        ("expansion.LOWEST_K",),
    )
    yield Constant(
        Section.MATERIALS,
        "0 °C in kelvin",
        trimmed(decimal_text(expansion.ZERO_C_IN_K, 2)),
        "K",
        sources.KELVIN,
        "temperatures on the curves of shrinking",
        ("expansion.ZERO_C_IN_K",),
    )


def _ppm(alpha_per_k: Fraction) -> str:
    return trimmed(decimal_text(exact(alpha_per_k) * 1_000_000, 2))


MATERIAL_CONSTANTS: tuple[Constant, ...] = (*_head_rows(), *_ring_rows(), *_curve_rows())
