"""The ring to order: which OD, height and inside diameter would do for an old pocket."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from app.calc.errors import MissingError
from app.calc.materials import HeadMaterial
from app.calc.pocket import MetalLimits, Neighbour, OldPocket
from app.calc.rules import DEFAULT_RULES, Interference, Rule, rule_for
from app.calc.shown import shown_nm
from app.calc.sources import GEOMETRY, GIVEN
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length

CALCULATION = Calculation("wanted-ring", 1)
NOT_KNOWN = "not known"
ONE_NM = Length(1)


@dataclass(frozen=True, kw_only=True)
class WantedRing(Result):
    """What to order. An end that is None is open, because what bounds it is not known.

    `exists` is False when no OD can both clean up the pocket and leave wall and web.
    """

    exists: bool
    od_least: Length | None
    od_most: Length | None
    height_least: Length | None
    ring_id_most: Length | None
    not_known: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Range:
    least: Length | None
    most: Length | None


def wanted_ring(
    *,
    pocket: OldPocket,
    neighbours: Sequence[Neighbour],
    limits: MetalLimits,
    material: HeadMaterial,
    protrusion: Length,
    ring_id_most: Length | None = None,
    window: Interference | None = None,
    rules: Iterable[Rule] = DEFAULT_RULES,
    unit: str = "in",
) -> WantedRing:
    """OD range, least height and largest inside diameter of a ring for an old pocket.

    OD ≥ B_old + TIR + 2·stock + I_max (cleans up at the window's least bore);
    OD ≤ least of [B_old + 2·(wall − least wall), 2·(centres − least web) − B_beside] + I_min
    (leaves metal at the window's largest bore); height ≥ old floor + clean-up + protrusion.
    The window changes with the OD, so each size band of the rules is looked at by itself and the
    smallest sizes that will do are given.

    Parameters
    ----------
    pocket : OldPocket
        the pocket to be opened [nm]
    neighbours : sequence of Neighbour
        counterbores beside it [nm]
    limits : MetalLimits
        the shop's rules [nm]
    material : HeadMaterial
        decides the interference rule [-]
    protrusion : Length
        how far the ring is to stand proud; negative when recessed [nm]
    ring_id_most : Length or None
        largest inside diameter that still leaves metal for the seat, None when not known [nm]
    window : Interference or None
        the engine maker's interference, in place of the shop's rules [nm]
    rules : iterable of Rule
        the shop's interference rules, oldest first [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    MissingError
        field ``interference``, when no rule is there for this head material.

    >>> inch = Length.of
    >>> wanted = wanted_ring(
    ...     pocket=OldPocket(inch("1.6150"), inch(".006"), inch(".248"), inch(".110")),
    ...     neighbours=[], material=HeadMaterial.GREY_IRON, protrusion=Length(0),
    ...     limits=MetalLimits(inch(".001"), inch(".002"), inch(".100"), inch(".060")))
    >>> wanted.od_least.inches(4), wanted.od_most.inches(4), wanted.height_least.inches(4)
    ('1.6280', '1.6380', '.2500')
    """
    bore_least = least_bore(pocket=pocket, limits=limits)
    bore_most, unknown_metal = most_bore(pocket=pocket, neighbours=neighbours, limits=limits)
    ranges = [
        found
        for band, fit in _bands(material, window, tuple(rules))
        if (found := _within(band, fit, bore_least, bore_most)) is not None
    ]
    od = _joined(ranges)
    floor = pocket.deepest_floor
    height_least = None if floor is None else floor + limits.floor_clean_up + protrusion
    not_known = [
        *(["old pocket's largest diameter"] if pocket.bore_max is None else []),
        *(["old pocket's run-out"] if pocket.run_out is None else []),
        *(["old floor"] if floor is None else []),
        *unknown_metal,
        *(["inside diameter"] if ring_id_most is None else []),
    ]
    return WantedRing(
        calculation=CALCULATION,
        inputs={
            "pocket": pocket,
            "neighbours": tuple(neighbours),
            "limits": limits,
            "material": material,
            "protrusion": protrusion,
            "ring_id_most": ring_id_most,
            "window": window,
        },
        working=_working(od, bore_least, bore_most, height_least, ring_id_most, not_known, unit),
        exists=od is not None,
        od_least=None if od is None else od.least,
        od_most=None if od is None else od.most,
        height_least=height_least,
        ring_id_most=ring_id_most,
        not_known=tuple(not_known),
    )


def least_bore(*, pocket: OldPocket, limits: MetalLimits) -> Length | None:
    """The smallest bore that cleans up the wall of a pocket; None when not known.

    B = B_old + TIR + 2·stock

    Parameters
    ----------
    pocket : OldPocket
        the pocket to be opened [nm]
    limits : MetalLimits
        the shop's rules [nm]

    >>> inch = Length.of
    >>> least_bore(pocket=OldPocket(inch("1.6150"), inch(".006"), None, None),
    ...            limits=MetalLimits(inch(".001"), inch("0"), inch(".1"), inch(".06"))).inches(4)
    '1.6230'
    """
    if pocket.bore_max is None or pocket.run_out is None:
        return None
    return pocket.bore_max + pocket.run_out + limits.stock * 2


def most_bore(
    *, pocket: OldPocket, neighbours: Sequence[Neighbour], limits: MetalLimits
) -> tuple[Length | None, list[str]]:
    """The largest bore that leaves wall and web, and which of those are not known.

    B = least of [B_old + 2·(wall − least wall), 2·(centres − least web) − B_beside]

    Parameters
    ----------
    pocket : OldPocket
        the pocket to be opened [nm]
    neighbours : sequence of Neighbour
        counterbores beside it [nm]
    limits : MetalLimits
        the shop's rules [nm]

    >>> inch = Length.of
    >>> most_bore(pocket=OldPocket(inch("1.6150"), None, None, inch(".110")),
    ...           neighbours=[Neighbour("3I", inch("1.800"), None)],
    ...           limits=MetalLimits(inch("0"), inch("0"), inch(".100"), inch(".060")))
    (Length(nm=41529000), ['web to 3I'])
    """
    bounds: list[Length] = []
    not_known: list[str] = []
    if pocket.thinnest_wall is None or pocket.bore_max is None:
        not_known.append("wall behind the pocket")
    else:
        bounds.append(pocket.bore_max + (pocket.thinnest_wall - limits.least_wall) * 2)
    for beside in neighbours:
        if beside.centre_distance is None:
            not_known.append(f"web to {beside.position}")
        else:
            bounds.append((beside.centre_distance - limits.least_web) * 2 - beside.bore)
    return (min(bounds) if bounds else None), not_known


def _bands(
    material: HeadMaterial, window: Interference | None, rules: Sequence[Rule]
) -> list[tuple[_Range, Interference]]:
    """Stretches of ring OD with one window each; `most` is the last nanometre of the stretch."""
    if window is not None:
        return [(_Range(None, None), window)]
    mine = [rule for rule in rules if rule.material is material]
    if not mine:
        raise MissingError("interference", f"is needed: there is no rule for {material.words}")
    starts = sorted(
        {rule.od_from for rule in mine} | {rule.od_below for rule in mine if rule.od_below}
    )
    bands: list[tuple[_Range, Interference]] = []
    for start, end in zip(starts, [*starts[1:], None], strict=True):
        try:
            rule = rule_for(material=material, ring_od=start, rules=mine)
        except MissingError:
            continue
        bands.append((_Range(start, None if end is None else end - ONE_NM), rule.interference))
    return bands


def _within(
    band: _Range, fit: Interference, bore_least: Length | None, bore_most: Length | None
) -> _Range | None:
    lows = [band.least] if band.least else []
    highs = [band.most] if band.most else []
    if bore_least is not None:
        lows.append(bore_least + fit.most)
    if bore_most is not None:
        highs.append(bore_most + fit.least)
    found = _Range(max(lows, default=None), min(highs, default=None))
    if found.least is not None and found.most is not None and found.least > found.most:
        return None
    return found


def _joined(ranges: Sequence[_Range]) -> _Range | None:
    """The smallest stretch, grown over the bands that go on where it ends."""
    if not ranges:
        return None
    joined = ranges[0]
    for following in ranges[1:]:
        if joined.most is None or following.least != joined.most + ONE_NM:
            break
        joined = _Range(joined.least, following.most)
    return joined


def _working(
    od: _Range | None,
    bore_least: Length | None,
    bore_most: Length | None,
    height_least: Length | None,
    ring_id_most: Length | None,
    not_known: Sequence[str],
    unit: str,
) -> tuple[Step, ...]:
    def text(length: Length | None) -> str:
        if length is None:
            return NOT_KNOWN
        return shown_nm(length.nm, unit, inch_places=4, mm_places=3)

    steps = [
        Step("B_min", "least bore that cleans up", text(bore_least), unit, GEOMETRY),
        Step("B_max", "largest bore that leaves wall and web", text(bore_most), unit, GEOMETRY),
    ]
    if od is None:
        none = "no ring both cleans up and leaves wall and web, by these figures"
        steps.append(Step("OD", none, "none", "", GEOMETRY, is_total=True))
    else:
        steps += [
            Step("OD", "ring OD from", text(od.least), unit, GEOMETRY, is_total=True),
            Step("OD", "ring OD up to", text(od.most), unit, GEOMETRY, is_total=True),
        ]
    steps += [
        Step("h", "height, at least", text(height_least), unit, GEOMETRY),
        Step("ID", "inside diameter, at most", text(ring_id_most), unit, GIVEN),
    ]
    if not_known:
        steps.append(Step("?", "not known", "; ".join(not_known), "", GIVEN))
    return tuple(steps)
