"""Which larger ring would save a pocket: from the shelf and from a list of sizes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

from app.calc.cleanup import clean_up
from app.calc.depth import floor_check
from app.calc.errors import MissingError
from app.calc.materials import HeadMaterial
from app.calc.pocket import MetalLimits, Neighbour, OldPocket
from app.calc.rules import DEFAULT_RULES, Interference, Rule, rule_for
from app.calc.shown import shown_nm, shown_sum
from app.calc.sources import GEOMETRY
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length
from app.calc.wall import wall_left, web_left
from app.calc.wanted_ring import WantedRing, wanted_ring

CALCULATION = Calculation("rescue", 1)
NOT_KNOWN = "not known"


class RingPlace(Enum):
    """Where a ring would come from; of one size the first named comes first."""

    SET = "set"
    SHELF = "shelf"
    SIZE_LIST = "size_list"


class Answer(Enum):
    """What is known of one question to a ring."""

    YES = "yes"
    NO = "no"
    NOT_KNOWN = "not_known"


@dataclass(frozen=True, slots=True)
class RescueRing:
    """A ring that might do. Its OD is its measured mean at 20 °C, or else a size in print.

    Lists do not always name a height: it is None then, and depth and floor are not known.
    """

    name: str
    place: RingPlace
    od: Length
    height: Length | None
    ring_id: Length | None
    is_measured: bool


@dataclass(frozen=True, slots=True)
class Finding:
    """One question, its answer and what is to spare; `spare` is None when it is not known.

    `figure` is what the question is about: metal cut off at the side where least is cut, metal cut
    off the floor, or the wall or web that would be left.
    """

    question: str
    answer: Answer
    spare: Length | None
    figure: Length | None = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """A ring with the bore that it would need and what is known of that bore.

    The bore of a ring that nobody has measured is only "about": it is never cut from.
    """

    ring: RescueRing
    window: Interference
    bore_low: Length
    bore: Length
    bore_high: Length
    depth: Length | None
    findings: tuple[Finding, ...]

    @property
    def is_possible(self) -> bool:
        """Nothing that is known speaks against it."""
        return all(finding.answer is not Answer.NO for finding in self.findings)

    @property
    def not_known(self) -> tuple[str, ...]:
        """The questions that could not be answered."""
        return tuple(
            finding.question for finding in self.findings if finding.answer is Answer.NOT_KNOWN
        )

    def words(self, unit: str) -> str:
        """The bore it needs, as the page says it."""
        bore = self.bore.shown(unit)
        if self.ring.is_measured:
            return f"needs bore {bore}"
        return f"needs about bore {bore}, measure it first"


@dataclass(frozen=True, kw_only=True)
class Rescue(Result):
    """Every ring looked at, by rising OD; the smallest possible one; what to order otherwise."""

    smallest: Candidate | None
    candidates: tuple[Candidate, ...]
    without_rule: tuple[str, ...]
    wanted: WantedRing


def rescue(
    *,
    rings: Sequence[RescueRing],
    pocket: OldPocket,
    neighbours: Sequence[Neighbour],
    limits: MetalLimits,
    material: HeadMaterial,
    protrusion: Length,
    ring_id_most: Length | None = None,
    window: Interference | None = None,
    rules: Iterable[Rule] = DEFAULT_RULES,
    unit: str = "in",
) -> Rescue:
    """The smallest ring whose bore cleans up wall and floor and leaves wall and web.

    cleans up at OD − I_max, the window's least bore; wall and web at OD − I_min, its largest;
    floor by H = height − protrusion. What is not known rules no ring out, and is listed.

    Parameters
    ----------
    rings : sequence of RescueRing
        rings on the shelf and sizes in a list; may be empty [nm]
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
        largest inside diameter that still leaves metal for the seat; None asks nothing [nm]
    window : Interference or None
        the engine maker's interference, in place of the shop's rules [nm]
    rules : iterable of Rule
        the shop's interference rules, oldest first [-]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Returns
    -------
    Rescue
        of rings of one OD the set's own comes first, then the shelf's, then a measured one, then
        the lower one

    Raises
    ------
    MissingError
        field ``interference``, when no rule is there for this head material.

    >>> inch = Length.of
    >>> def ring(name, od):
    ...     return RescueRing(name, RingPlace.SHELF, inch(od), inch(".2500"), None, True)
    >>> found = rescue(
    ...     rings=[ring("standard", "1.6261"), ring("+.010", "1.6361")],
    ...     pocket=OldPocket(inch("1.6150"), inch(".006"), inch(".245"), inch(".110")),
    ...     neighbours=[], material=HeadMaterial.GREY_IRON, protrusion=Length(0),
    ...     limits=MetalLimits(inch(".001"), inch(".002"), inch(".095"), inch(".060")))
    >>> found.smallest.ring.name, found.smallest.words("in")
    ('+.010', 'needs bore 1.6321')
    """
    listed = tuple(rules)
    candidates: list[Candidate] = []
    without_rule: list[str] = []
    for ring in sorted(rings, key=_order):
        try:
            fit = window or rule_for(material=material, ring_od=ring.od, rules=listed).interference
        except MissingError:
            without_rule.append(ring.name)
            continue
        candidates.append(
            _looked_at(ring, fit, pocket, neighbours, limits, protrusion, ring_id_most)
        )
    smallest = next((one for one in candidates if one.is_possible), None)
    return Rescue(
        calculation=CALCULATION,
        inputs={
            "rings": tuple(rings),
            "pocket": pocket,
            "neighbours": tuple(neighbours),
            "limits": limits,
            "material": material,
            "protrusion": protrusion,
            "ring_id_most": ring_id_most,
            "window": window,
        },
        working=_working(smallest, len(candidates), unit),
        smallest=smallest,
        candidates=tuple(candidates),
        without_rule=tuple(without_rule),
        wanted=wanted_ring(
            pocket=pocket,
            neighbours=neighbours,
            limits=limits,
            material=material,
            protrusion=protrusion,
            ring_id_most=ring_id_most,
            window=window,
            rules=listed,
            unit=unit,
        ),
    )


_PLACES = tuple(RingPlace)


def _order(ring: RescueRing) -> tuple[Length, int, bool, bool, Length, str]:
    return (
        ring.od,
        _PLACES.index(ring.place),
        not ring.is_measured,
        ring.height is None,
        ring.height or ring.od,
        ring.name,
    )


def _looked_at(
    ring: RescueRing,
    fit: Interference,
    pocket: OldPocket,
    neighbours: Sequence[Neighbour],
    limits: MetalLimits,
    protrusion: Length,
    ring_id_most: Length | None,
) -> Candidate:
    bore_low, bore_high = ring.od - fit.most, ring.od - fit.least
    depth = None if ring.height is None else ring.height - protrusion
    findings = [
        _wall_cleans_up(bore_low, pocket, limits),
        _floor_cleans_up(depth, pocket, limits),
        _wall_stays(bore_high, pocket, limits),
        *(_web_stays(bore_high, beside, limits) for beside in neighbours),
    ]
    if ring_id_most is not None:
        findings.append(_leaves_a_seat(ring, ring_id_most))
    return Candidate(
        ring=ring,
        window=fit,
        bore_low=bore_low,
        bore=Length.nearest(ring.od.nm - fit.aim_nm),
        bore_high=bore_high,
        depth=depth,
        findings=tuple(findings),
    )


def _finding(
    question: str, holds: bool | None, spare: Length | None, figure: Length | None = None
) -> Finding:
    if holds is None:
        return Finding(question, Answer.NOT_KNOWN, None)
    return Finding(question, Answer.YES if holds else Answer.NO, spare, figure)


def _wall_cleans_up(bore_low: Length, pocket: OldPocket, limits: MetalLimits) -> Finding:
    question = "cleans up the old wall"
    if pocket.bore_max is None or pocket.run_out is None:
        return _finding(question, None, None)
    found = clean_up(
        target_bore=bore_low,
        old_bore_max=pocket.bore_max,
        old_run_out=pocket.run_out,
        stock=limits.stock,
    )
    return _finding(question, found.cleans_up, found.spare, found.spare + limits.stock)


def _floor_cleans_up(depth: Length | None, pocket: OldPocket, limits: MetalLimits) -> Finding:
    question = "cleans up the old floor"
    if pocket.deepest_floor is None or depth is None:
        return _finding(question, None, None)
    found = floor_check(
        depth=depth, deepest_old_floor=pocket.deepest_floor, clean_up=limits.floor_clean_up
    )
    return _finding(question, found.cleans_up, found.spare, depth - pocket.deepest_floor)


def _wall_stays(bore_high: Length, pocket: OldPocket, limits: MetalLimits) -> Finding:
    question = "leaves the wall behind it"
    if pocket.bore_max is None:
        return _finding(question, None, None)
    found = wall_left(
        wall_now=pocket.thinnest_wall,
        bore_now=pocket.bore_max,
        bore=bore_high,
        least=limits.least_wall,
    )
    return _finding(question, found.is_enough, found.spare, found.left)


def _web_stays(bore_high: Length, beside: Neighbour, limits: MetalLimits) -> Finding:
    found = web_left(
        centre_distance=beside.centre_distance,
        bore=bore_high,
        neighbour_bore=beside.bore,
        least=limits.least_web,
    )
    question = f"leaves the web to {beside.position}"
    return _finding(question, found.is_enough, found.spare, found.left)


def _leaves_a_seat(ring: RescueRing, ring_id_most: Length) -> Finding:
    question = "leaves metal for the seat"
    if ring.ring_id is None:
        return _finding(question, None, None)
    spare = ring_id_most - ring.ring_id
    return _finding(question, spare.nm >= 0, spare)


def _working(smallest: Candidate | None, looked_at: int, unit: str) -> tuple[Step, ...]:
    count = f"{looked_at} {'ring' if looked_at == 1 else 'rings'} looked at"
    if smallest is None:
        return (Step("", f"{count}: none will do, by these figures", "none", "", GEOMETRY),)
    ring = smallest.ring
    origin = "as measured" if ring.is_measured else "size in print, not measured"

    shown = shown_sum(parts=[(1, ring.od.nm), (-1, smallest.window.aim_nm)], unit=unit)
    bore = "bore for it" if ring.is_measured else "about this bore; measure the ring first"
    return (
        Step("D", f"ring {ring.name}, smallest that may do; {count}", shown.parts[0], unit, origin),
        Step("I", "− interference aimed for", shown.parts[1], unit, "rule"),
        Step("B", bore, shown.total, unit, "difference", is_total=True),
        *(
            Step("?", f"{one.question}: {NOT_KNOWN}", NOT_KNOWN, "", GEOMETRY)
            if one.spare is None
            else Step(
                "s", f"{one.question}, to spare", shown_nm(one.spare.nm, unit), unit, GEOMETRY
            )
            for one in smallest.findings
        ),
    )
