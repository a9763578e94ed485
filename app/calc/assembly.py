"""Whether a chilled ring goes into a heated head: drops in, light drive, or press."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from math import ceil, floor

from app.calc.errors import CalculationError, MissingError
from app.calc.expansion import CURVES, Curve, expansion, kelvin
from app.calc.gauge import shown_number, shown_ppm
from app.calc.materials import REFERENCE_C, HeadMaterial
from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import (
    CHILL_TEMPERATURES,
    DROP_IN_WORDS,
    FREEZER_HABIT,
    GIVEN,
    HEAT_CAP,
    Source,
)
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, decimal_text, exact

CALCULATION = Calculation("assembly", 1)


class Way(Enum):
    """How a ring goes in, by the clearance that heat and cold leave."""

    DROPS_IN = "drops_in"
    LIGHT_DRIVE = "light_drive"
    PRESS = "press"

    @property
    def words(self) -> str:
        """As printed: ``light drive``."""
        return self.value.replace("_", " ")


@dataclass(frozen=True, slots=True)
class Chill:
    """A way to chill a ring, and how cold it comes out."""

    key: str
    words: str
    ring_c: float
    source: Source


CHILLS: dict[str, Chill] = {
    chill.key: chill
    for chill in (
        Chill("none", "not chilled", REFERENCE_C, FREEZER_HABIT),
        Chill("freezer", "freezer", -18, FREEZER_HABIT),
        Chill("dry_ice", "dry ice", -78.5, CHILL_TEMPERATURES),
        Chill("liquid_nitrogen", "liquid nitrogen", -196, CHILL_TEMPERATURES),
    )
}
HEAD_CAP_C: dict[HeadMaterial, int] = dict.fromkeys(HeadMaterial, 150)
HEAD_CAP_SOURCE = HEAT_CAP


@dataclass(frozen=True, kw_only=True)
class Assembly(Result):
    """What cold and heat give; `head_c_needed` is uncapped and never shown when over the cap.

    `head_c_to_follow` is whole degrees, at most the cap; None where no heat is needed or none
    would help. `is_capped` says that the cap falls short, `way_to_follow` how the ring goes then.
    """

    ring_shrinks_by: Length
    head_grows_by: Length
    clearance: Length
    way: Way
    head_c_needed: float | None
    head_c_to_follow: int | None
    way_to_follow: Way
    is_capped: bool


def assembly(
    *,
    diameter: Length,
    interference: Length,
    head_alpha_per_k: float | Fraction,
    ring_c: float | Fraction,
    head_c: float | Fraction,
    clearance_wanted: Length,
    curve: Curve | None = None,
    curve_scale: Fraction | int = 1,
    alpha_per_k: float | Fraction | None = None,
    head_cap_c: float | Fraction | None = None,
    unit: str = "in",
) -> Assembly:
    """The clearance of a cold ring over a warm bore.

    ring: −d·y(T_r)·1e-5 by a curve, or d·α_r·(20 − T_r); head: d·α_h·(T_h − 20);
    clearance = both − I; drops in from the wanted clearance up, is pressed under −I/2, else driven
    lightly; T_needed = 20 + (I + c − shrink)/(d·α_h)

    Parameters
    ----------
    diameter : Length
        d, taken for both parts [nm]
    interference : Length
        I, at 20 °C [nm]
    head_alpha_per_k : float or Fraction
        α_h, the head's mean expansion from 20 °C to its temperature [1/K]
    ring_c : float or Fraction
        T_r; with a curve, inside the curve's range [°C]
    head_c : float or Fraction
        T_h, at the bore; at most the cap [°C]
    clearance_wanted : Length
        c, at which the ring is said to drop in [nm]
    curve : Curve or None
        the ring's measured shrink; this or the coefficient [-]
    curve_scale : Fraction or int
        for a kindred alloy, see `expansion.ring_curve` [-]
    alpha_per_k : float, Fraction or None
        α_r, the ring's mean expansion, instead of a curve [1/K]
    head_cap_c : float, Fraction or None
        above this no head temperature is given to follow [°C]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    Assembly
        lengths rounded once, ties to even; the way is judged on the clearance as returned

    Raises
    ------
    CalculationError
        field ``ring`` without or with both of curve and coefficient, ``ring_c`` outside the
        curve, ``head_c`` above the cap, ``head_cap_c`` not above 20 °C.

    >>> found = assembly(diameter=Length.of("1.625"), interference=Length.of(".007"),
    ...                  curve=Curve.NICKEL_STEEL_9, head_alpha_per_k=22e-6, ring_c=-196,
    ...                  head_c=150, clearance_wanted=Length.of(".001"), head_cap_c=150)
    >>> found.clearance.inches(4), found.way.words
    ('.0007', 'light drive')
    >>> round(found.head_c_needed), found.head_c_to_follow, found.is_capped
    (157, 150, True)
    """
    if (curve is None) == (alpha_per_k is None):
        raise CalculationError("ring", "needs a curve or a coefficient, one of them")
    cap = None if head_cap_c is None else exact(head_cap_c)
    if cap is not None and cap <= REFERENCE_C:
        raise CalculationError("head_cap_c", "must be above 20 °C")
    if cap is not None and exact(head_c) > cap:
        raise CalculationError("head_c", f"is above the cap of {shown_number(cap)} °C")
    shrinks, shrink_text, shrink_source = _shrink(
        diameter, curve, Fraction(curve_scale), alpha_per_k, exact(ring_c)
    )
    per_kelvin = diameter.nm * exact(head_alpha_per_k)
    grows = per_kelvin * (exact(head_c) - REFERENCE_C)
    clearance = Length.nearest(shrinks + grows - interference.nm)
    missing = interference.nm + clearance_wanted.nm - shrinks
    needed = REFERENCE_C + missing / per_kelvin if per_kelvin else None
    follow, is_capped = _to_follow(needed, missing, cap)
    at_follow = shrinks - interference.nm
    if follow is not None:
        at_follow += per_kelvin * (follow - REFERENCE_C)
    shown = shown_sum(
        parts=[(1, shrinks), (1, grows), (-1, interference.nm)],
        unit=unit,
        limits=[clearance_wanted.nm, Fraction(-interference.nm, 2)],
    )
    way = _way(clearance, interference, clearance_wanted)
    return Assembly(
        calculation=CALCULATION,
        inputs={
            "diameter": diameter,
            "interference": interference,
            "curve": curve,
            "curve_scale": Fraction(curve_scale),
            "alpha_per_k": alpha_per_k,
            "head_alpha_per_k": head_alpha_per_k,
            "ring_c": ring_c,
            "head_c": head_c,
            "clearance_wanted": clearance_wanted,
            "head_cap_c": head_cap_c,
        },
        working=(
            Step("d", "diameter of both", diameter.shown(unit), unit, GIVEN),
            Step("s", shrink_text, shown.parts[0], unit, shrink_source),
            Step(
                "g",
                f"+ the head grows, at {shown_number(head_c)} °C "
                f"({shown_ppm(head_alpha_per_k)}e-6/K)",
                shown.parts[1],
                unit,
                GIVEN,
            ),
            Step("I", "− interference at 20 °C", shown.parts[2], unit, GIVEN),
            Step(
                "c",
                "clearance (negative: still to be driven)",
                shown.total,
                unit,
                "sum of the three",
                is_total=True,
            ),
            Step(
                "c_w",
                f"{way.words}; wanted to drop in",
                shown_nm(clearance_wanted.nm, unit),
                unit,
                DROP_IN_WORDS.cited,
            ),
            _temperature_step(needed, follow, is_capped, cap),
        ),
        ring_shrinks_by=Length.nearest(shrinks),
        head_grows_by=Length.nearest(grows),
        clearance=clearance,
        way=way,
        head_c_needed=_as_number(needed),
        head_c_to_follow=follow,
        way_to_follow=_way(Length.nearest(at_follow), interference, clearance_wanted),
        is_capped=is_capped,
    )


def chilled_to(*, chill: str) -> float:
    """How cold a ring comes out of a chill.

    Parameters
    ----------
    chill : str
        ``none``, ``freezer``, ``dry_ice`` or ``liquid_nitrogen`` [-]

    Raises
    ------
    MissingError
        field ``chill``, for any other.

    >>> chilled_to(chill="dry_ice")
    -78.5
    """
    if chill not in CHILLS:
        raise MissingError("chill", f"must be one of: {', '.join(CHILLS)}")
    return CHILLS[chill].ring_c


def _shrink(
    diameter: Length,
    curve: Curve | None,
    scale: Fraction,
    alpha_per_k: float | Fraction | None,
    ring_c: Fraction,
) -> tuple[Fraction, str, str]:
    at = f"the ring shrinks, at {shown_number(ring_c)} °C"
    if curve is None:
        alpha = exact(alpha_per_k or 0)
        shrinks = diameter.nm * alpha * (REFERENCE_C - ring_c)
        return shrinks, f"{at} ({shown_ppm(alpha)}e-6/K)", GIVEN
    found = expansion(
        curve=curve, temperature_k=kelvin(temperature_c=ring_c), temperature_field="ring_c"
    )
    words = CURVES[curve].words
    scaled = "" if scale == 1 else f" × {decimal_text(scale, 3)}"
    shrinks = -diameter.nm * found.exact_1e5 * scale / 100_000
    return shrinks, f"{at}, curve of {words}{scaled}", CURVES[curve].source.cited


def _way(clearance: Length, interference: Length, wanted: Length) -> Way:
    if clearance >= wanted:
        return Way.DROPS_IN
    return Way.PRESS if clearance * 2 < -interference else Way.LIGHT_DRIVE


def _to_follow(
    needed: Fraction | None, missing: Fraction, cap: Fraction | None
) -> tuple[int | None, bool]:
    """Whole degrees that a person may work to, and whether the cap keeps them short."""
    if missing <= 0 or needed is None:
        return None, False
    if cap is not None and ceil(needed) > cap:
        return floor(cap), needed > floor(cap)
    return ceil(needed), False


def _temperature_step(
    needed: Fraction | None, follow: int | None, is_capped: bool, cap: Fraction | None
) -> Step:
    words = "head's temperature for the wanted clearance"
    if needed is None:
        return Step("T", f"{words}: none, the head does not expand", "", "°C", GIVEN)
    if cap is None:
        return Step("T", f"{words}, not capped", _degrees(needed), "°C", "from the figures above")
    if follow is None:
        return Step("T", f"{words}: no heat is needed", "20", "°C", "from the figures above")
    if is_capped:
        return Step("T", f"{words} lies above the cap, which is", str(follow), "°C", HEAT_CAP.cited)
    return Step("T", words, str(follow), "°C", "from the figures above, whole degrees up")


def _degrees(needed: Fraction) -> str:
    return decimal_text(needed, 1) if abs(needed) < 10**9 else "beyond any"


def _as_number(needed: Fraction | None) -> float | None:
    """None too for a head that expands so little that no number holds the answer."""
    try:
        return None if needed is None else float(needed)
    except OverflowError:
        return None
