"""The interference that is left, or gained, at other temperatures than 20 °C."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import CalculationError, MissingError
from app.calc.gauge import shown_number, shown_ppm
from app.calc.hot_expansion import HEAD_POINTS, MeanPoint, mean_expansion
from app.calc.materials import REFERENCE_C, HeadMaterial
from app.calc.shown import shown_sum
from app.calc.sources import GIVEN, HEAT_CASES
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, exact

CALCULATION = Calculation("running-fit", 1)
OVERHEATED = "overheated"


@dataclass(frozen=True, slots=True)
class Case:
    """Temperatures of ring and head, with each one's mean expansion from 20 °C to them."""

    name: str
    ring_c: float | Fraction
    head_c: float | Fraction
    ring_alpha_per_k: float | Fraction
    head_alpha_per_k: float | Fraction
    source: str = GIVEN


@dataclass(frozen=True, slots=True)
class CaseFit:
    """What is left in one case; a negative interference is clearance."""

    name: str
    interference: Length
    change: Length
    is_warm: bool


@dataclass(frozen=True, kw_only=True)
class RunningFit(Result):
    """Every case in the order asked."""

    cases: tuple[CaseFit, ...]


@dataclass(frozen=True, slots=True)
class HeatCase:
    """Assumed temperatures that a shop can edit."""

    key: str
    name: str
    ring_c: int
    head_c: int


def _cases(running: tuple[int, int], hard: tuple[int, int], over: int) -> tuple[HeatCase, ...]:
    return (
        HeatCase("cold_start", "cold start", -30, -30),
        HeatCase("running", "running", *running),
        HeatCase("hard", "hard", *hard),
        HeatCase(OVERHEATED, OVERHEATED, over, over),
    )


# Ring first, head at the bore second. The overheated soak is the case that drops rings in
# aluminium: ring and head come to one temperature, so the ring no longer runs hotter.
IRON_EXHAUST = _cases((300, 200), (400, 250), 250)
IRON_INTAKE = _cases((200, 150), (250, 200), 250)
ALUMINIUM_EXHAUST = _cases((250, 170), (300, 200), 250)
ALUMINIUM_INTAKE = _cases((180, 150), (220, 180), 250)


def running_fit(
    *, diameter: Length, interference: Length, cases: Sequence[Case], unit: str = "in"
) -> RunningFit:
    """The interference of each case, from that at 20 °C.

    I(T) = I₂₀ + d·[ᾱ_r·(T_r − 20) − ᾱ_h·(T_h − 20)]

    Parameters
    ----------
    diameter : Length
        d, taken for both parts [nm]
    interference : Length
        I₂₀, on diameter [nm]
    cases : sequence of Case
        temperatures, with the mean coefficients from 20 °C to them [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    RunningFit
        each figure rounded once, ties to even; negative is clearance

    Raises
    ------
    CalculationError
        field ``cases``, without one.

    >>> soak = Case("hot soak", 200, 200, 11.8e-6, 22e-6)
    >>> found = running_fit(diameter=Length.of("1.625"), interference=Length.of(".004"),
    ...                     cases=[soak])
    >>> found.cases[0].change.inches(4), found.cases[0].interference.inches(4)
    ('-.0030', '.0010')
    """
    if not cases:
        raise CalculationError("cases", "needs at least one")
    worked = [(case, _change(diameter, case)) for case in cases]
    return RunningFit(
        calculation=CALCULATION,
        inputs={"diameter": diameter, "interference": interference, "cases": tuple(cases)},
        working=tuple(
            step
            for case, change in worked
            for step in _steps(diameter, interference, case, change, unit)
        ),
        cases=tuple(
            CaseFit(
                name=case.name,
                interference=Length.nearest(interference.nm + change),
                change=Length.nearest(change),
                is_warm=case.head_c > REFERENCE_C or case.ring_c > REFERENCE_C,
            )
            for case, change in worked
        ),
    )


def heat_cases(
    *, head_material: HeadMaterial, is_exhaust: bool, ring_points: Sequence[MeanPoint]
) -> tuple[Case, ...]:
    """The assumed cases of a head material and kind of valve, with expansions to match.

    Parameters
    ----------
    head_material : HeadMaterial
        what the casting is made of [-]
    is_exhaust : bool
        an exhaust position: its ring runs hotter [-]
    ring_points : sequence of MeanPoint
        the ring's mean expansions: its family's or its maker's [-]

    Returns
    -------
    tuple of Case
        cold start, running, hard, overheated

    Raises
    ------
    MissingError
        field ``ring_alpha_per_k``, when the ring's expansion is not known.

    >>> from app.calc.hot_expansion import RING_POINTS
    >>> cases = heat_cases(head_material=HeadMaterial.ALUMINIUM, is_exhaust=True,
    ...                    ring_points=RING_POINTS["grey_iron"])
    >>> [(case.name, case.ring_c, case.head_c) for case in cases][1:3]
    [('running', 250, 170), ('hard', 300, 200)]
    """
    if not ring_points:
        raise MissingError("ring_alpha_per_k", "is not known: the ring maker's figure is needed")
    if head_material.is_iron:
        assumed = IRON_EXHAUST if is_exhaust else IRON_INTAKE
    else:
        assumed = ALUMINIUM_EXHAUST if is_exhaust else ALUMINIUM_INTAKE
    return tuple(
        case_at(
            name=case.name,
            ring_c=case.ring_c,
            head_c=case.head_c,
            head_material=head_material,
            ring_points=ring_points,
            source=HEAT_CASES.cited,
        )
        for case in assumed
    )


def case_at(
    *,
    name: str,
    ring_c: float | Fraction,
    head_c: float | Fraction,
    head_material: HeadMaterial,
    ring_points: Sequence[MeanPoint],
    source: str = GIVEN,
) -> Case:
    """One case at temperatures of the shop's choosing, with the expansions that go with them.

    Parameters
    ----------
    name : str
        what the case is called [-]
    ring_c : float or Fraction
        of the ring [°C]
    head_c : float or Fraction
        of the head at the bore [°C]
    head_material : HeadMaterial
        what the casting is made of [-]
    ring_points : sequence of MeanPoint
        the ring's mean expansions, at least one [-]
    source : str
        where the temperatures come from [-]

    >>> from app.calc.hot_expansion import RING_POINTS
    >>> case = case_at(name="soak", ring_c=200, head_c=200, head_material=HeadMaterial.ALUMINIUM,
    ...                ring_points=RING_POINTS["bronze"])
    >>> float(case.ring_alpha_per_k), float(case.head_alpha_per_k)
    (1.8e-05, 2.25e-05)
    """
    ring = mean_expansion(points=ring_points, temperature_c=ring_c)
    head = mean_expansion(points=HEAD_POINTS[head_material], temperature_c=head_c)
    cited = "; ".join(dict.fromkeys((source, ring.source, head.source)))
    return Case(name, ring_c, head_c, ring.alpha_per_k, head.alpha_per_k, cited)


def _change(diameter: Length, case: Case) -> Fraction:
    ring = exact(case.ring_alpha_per_k) * (exact(case.ring_c) - REFERENCE_C)
    head = exact(case.head_alpha_per_k) * (exact(case.head_c) - REFERENCE_C)
    return diameter.nm * (ring - head)


def _steps(
    diameter: Length, interference: Length, case: Case, change: Fraction, unit: str
) -> tuple[Step, ...]:
    shown = shown_sum(parts=[(1, interference.nm), (1, change)], unit=unit)
    ring, head = (
        f"{shown_number(t)} °C ({shown_ppm(alpha)}e-6/K)"
        for t, alpha in (
            (case.ring_c, case.ring_alpha_per_k),
            (case.head_c, case.head_alpha_per_k),
        )
    )
    at = f"on {diameter.shown(unit)} {unit}, ring at {ring}, head at {head}"
    return (
        Step("I₂₀", f"{case.name}: interference at 20 °C", shown.parts[0], unit, GIVEN),
        Step("ΔI", f"+ change {at}", shown.parts[1], unit, case.source),
        Step(
            "I(T)",
            f"{case.name}: interference left (negative: clearance)",
            shown.total,
            unit,
            "sum of the two",
            is_total=True,
        ),
    )
