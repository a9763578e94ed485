"""The setting plan: fewest cutter settings for many positions, each as near its aims as can be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from app.calc.errors import MissingError, OrderError
from app.calc.rules import Interference
from app.calc.shown import shown_apart, shown_nm
from app.calc.sources import STABBING
from app.calc.stabbing import Span, least_reach, least_vector
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length

CALCULATION = Calculation("setting-plan", 1)


@dataclass(frozen=True, slots=True)
class PlannedPort:
    """One position to be cut: its ring's OD, its rule, and how well both are known."""

    port: str
    ring_od: Length
    window: Interference
    uncertainty: Length


@dataclass(frozen=True, slots=True)
class PlannedSetting:
    """One setting for named positions; `reach` is the farthest that any of them is from its aim."""

    bore: Length
    ports: tuple[str, ...]
    reach: Length


@dataclass(frozen=True, kw_only=True)
class SettingPlan(Result):
    """Settings by rising bore, and the positions that no bore suits."""

    settings: tuple[PlannedSetting, ...]
    impossible: tuple[str, ...]


def setting_plan(
    *, ports: Sequence[PlannedPort], repeatability: Length, unit: str = "in"
) -> SettingPlan:
    """Fewest settings that leave every position inside its shrunk window.

    window of a port [OD − most + U + r, OD − least − U − r]; aim OD − aim

    Of all plans with the fewest settings, those whose positions lie least far from their aims at
    the worst; of those, the one with the smaller bores, compared from the smallest up. Each bore
    stands midway between its own positions' outer aims, or as near to that as their windows let it.

    Parameters
    ----------
    ports : sequence of PlannedPort
        the positions, with different names; ring ODs at 20 °C [nm]
    repeatability : Length
        r, how far a setting repeats, expanded, the fixture's step included [nm]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    SettingPlan
        bores to the nearest nanometre, ties to even; every possible port is in one setting

    Raises
    ------
    MissingError
        field ``ports`` without a port.
    OrderError
        field ``ports[i].port`` when two have one name.

    Notes
    -----
    Number and worst distance are always the least. The choice among plans that are equal in both
    is exact as well, unless it takes more than `stabbing.MOST_TRIES` tries, which needs dozens of
    positions whose rules differ.

    >>> from app.calc.rules import interference
    >>> iron = interference(least=Length.of(".003"), aim=Length.of(".004"), most=Length.of(".005"))
    >>> rings = [("1E", "1.6261"), ("2E", "1.6265"), ("3E", "1.6297"), ("4E", "1.6263")]
    >>> plan = setting_plan(repeatability=Length.of(".0002"), ports=[
    ...     PlannedPort(port, Length.of(od), iron, Length.of(".0002")) for port, od in rings])
    >>> [(one.bore.inches(4), one.ports) for one in plan.settings]
    [('1.6223', ('1E', '2E', '4E')), ('1.6257', ('3E',))]
    """
    if not ports:
        raise MissingError("ports", "needs at least one position")
    seen: set[str] = set()
    for index, port in enumerate(ports):
        if port.port in seen:
            raise OrderError(f"ports[{index}].port", "names a position twice")
        seen.add(port.port)
    spans = [_span(port, repeatability) for port in ports]
    possible = [span for span in spans if span is not None]
    groups: list[list[int]] = []
    if possible:
        groups = least_vector(spans=possible, reach=least_reach(spans=possible))
    names = [port.port for port, span in zip(ports, spans, strict=True) if span is not None]
    settings = tuple(
        _setting([possible[i] for i in group], [names[i] for i in group]) for group in groups
    )
    impossible = tuple(port.port for port, span in zip(ports, spans, strict=True) if span is None)
    return SettingPlan(
        calculation=CALCULATION,
        inputs={"ports": tuple(ports), "repeatability": repeatability},
        settings=settings,
        impossible=impossible,
        working=_working(ports, spans, settings, repeatability, unit),
    )


def _span(port: PlannedPort, repeatability: Length) -> Span | None:
    """In half nanometres, so that the middle between two aims is a whole number."""
    doubt = port.uncertainty + repeatability
    low = 2 * (port.ring_od - port.window.most + doubt).nm
    high = 2 * (port.ring_od - port.window.least - doubt).nm
    aim = 2 * port.ring_od.nm - 2 * port.window.aim_nm
    return Span(low, high, int(aim)) if low <= high else None


def _setting(spans: list[Span], names: list[str]) -> PlannedSetting:
    bore = Span.centre(spans)
    reach = max(abs(bore - span.aim) for span in spans)
    return PlannedSetting(
        Length.nearest(Fraction(bore, 2)), tuple(names), Length.nearest(Fraction(reach, 2))
    )


def _working(
    ports: Sequence[PlannedPort],
    spans: Sequence[Span | None],
    settings: Sequence[PlannedSetting],
    repeatability: Length,
    unit: str,
) -> tuple[Step, ...]:
    aims = {
        port.port: Fraction(span.aim, 2)
        for port, span in zip(ports, spans, strict=True)
        if span is not None
    }

    def farthest(setting: PlannedSetting) -> str:
        apart = [shown_apart(setting.bore.nm, aims[name], unit) for name in setting.ports]
        return max(apart, key=Fraction)

    def shown(half_nm: int) -> str:
        return shown_nm(Fraction(half_nm, 2), unit)

    return (
        *(
            Step(port.port, "no bore: the doubt is wider than the window", "none", "", "rule")
            if span is None
            else Step(
                port.port,
                f"aim {shown(span.aim)}, window less the doubt",
                f"{shown(span.low)} to {shown(span.high)}",
                unit,
                f"OD − rule, less U {shown_nm(port.uncertainty.nm, unit)} "
                f"+ r {shown_nm(repeatability.nm, unit)} at each end",
            )
            for port, span in zip(ports, spans, strict=True)
        ),
        Step("n", "settings needed", str(len(settings)), "", STABBING.short, is_total=True),
        *(
            Step(
                f"B{number}",
                f"for {', '.join(setting.ports)}; farthest from an aim {farthest(setting)}",
                shown_nm(setting.bore.nm, unit),
                unit,
                "least largest distance from its aims",
                is_total=True,
            )
            for number, setting in enumerate(settings, start=1)
        ),
    )
