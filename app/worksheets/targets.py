"""Where each position's counterbore should be: ring as measured, rule, window, depth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from sqlmodel import Session

from app.calc.depth import Datum, Depth, counterbore_depth
from app.calc.errors import CalculationError
from app.calc.materials import HeadMaterial
from app.calc.ring import TaggedRing, ring_set_fit
from app.calc.rules import Interference, Rule, interference
from app.calc.rules import rule_for as newest_that_applies
from app.calc.target import Target, target_bore
from app.calc.units import Length
from app.models.head import Head
from app.models.ring import RingSet
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Work, listed
from app.worksheets.head_rows import HeadRows, PortRows
from app.worksheets.interference import Window, band_words, rules_in_force
from app.worksheets.ring_sets import RingRow, SetWorking, load_sets
from app.worksheets.rows import rows_of


@dataclass(frozen=True)
class PortTarget:
    """One position's figures, or why there are none yet."""

    head: Head
    rows: PortRows
    set_working: SetWorking | None
    window: Window | None
    rings: tuple[RingRow, ...]  # any of these may go in
    target: Target | None
    depth: Depth | None
    bore_low: Length | None
    bore_high: Length | None
    open: tuple[str, ...]
    apart: str = ""  # why no one bore suits all of its rings

    @property
    def label(self) -> str:
        """``3E``."""
        return self.rows.label

    @property
    def name(self) -> str:
        """``3E``, or with the head's name where a job has several: ``left 3E``."""
        head = self.head.name or (f"head {self.head.nth}" if self.head.nth > 1 else "")
        return f"{head} {self.label}".strip()

    @property
    def is_ready(self) -> bool:
        """Nothing is open and there is a window to cut in."""
        return self.target is not None and not self.open

    @property
    def reading_ids(self) -> list[int]:
        """The readings that it rests on."""
        return [kept.id for row in self.rings for kept in row.readings.counting]


def load_targets(
    session: Session, heads: Mapping[int, HeadRows], rules: ShopRules
) -> dict[int, PortTarget]:
    """Targets of every position that gets a ring, by port id; live, not yet accepted."""
    wanted = [
        (head, rows)
        for head in heads.values()
        for rows in head.ports
        if rows.port.work is Work.RING
    ]
    set_ids = {rows.port.ring_set_id for _, rows in wanted if rows.port.ring_set_id is not None}
    sets = rows_of(session, RingSet, "id", set_ids) if set_ids else []
    workings = load_sets(session, sets, rules) if sets else {}
    in_force = rules_in_force(session)
    return {
        rows.port.id: port_target(head, rows, workings.get(rows.port.ring_set_id or 0), in_force)
        for head, rows in wanted
    }


def port_target(
    head: HeadRows,
    rows: PortRows,
    working: SetWorking | None,
    in_force: tuple[Rule, ...],
) -> PortTarget:
    """One position: nothing is worked while its ring, material or rule is open."""
    rings, open_words = _rings(rows, working)
    if head.head.material is None:
        open_words = (*open_words, "head material")
    window = _window(head, rows, rings, in_force) if not open_words else None
    target = depth = low = high = None
    apart = ""
    if window is not None and working is not None:
        fit = interference(least=window.least, aim=window.aim, most=window.most)
        unit = head.job.job.unit.value
        ods = [row.measured.od_nm for row in rings if row.measured]
        low = Length.nearest(max(ods) - fit.most.nm)
        high = Length.nearest(min(ods) - fit.least.nm)
        if low > high:
            # A mean of rings that cannot share a bore is nobody's bore: no figure until it is
            # settled which ring goes where.
            apart = _apart(rings, fit, unit)
            open_words = (*open_words, apart)
            rings, low, high = (), None, None
    if window is not None and rings and working is not None:
        try:
            target = _target(tuple(ods), window, unit)
            depth = _depth(rows, rings, unit)
        except CalculationError as no:
            open_words = (*open_words, str(no))
    return PortTarget(
        head=head.head,
        rows=rows,
        set_working=working,
        window=window,
        rings=rings,
        target=target,
        depth=depth,
        bore_low=low,
        bore_high=high,
        open=open_words,
        apart=apart,
    )


def fit_of(window: Window) -> Interference:
    """A window as the calculations take it."""
    return interference(least=window.least, aim=window.aim, most=window.most)


def _apart(rings: tuple[RingRow, ...], fit: Interference, unit: str) -> str:
    """Which ring stands apart and by how much, when most of them could share a bore."""
    tagged = [TaggedRing(row.tag, row.measured.od) for row in rings if row.measured]
    shared = ring_set_fit(rings=tagged, window=fit, uncertainty=Length(0), unit=unit)
    alone = [ring for ring in tagged if ring.tag in shared.strangers]
    alike = [Fraction(ring.od.nm) for ring in tagged if ring.tag not in shared.strangers]
    if len(alike) <= len(alone):
        by = shared.od_spread.shown(unit)
        return f"the rings are {by} apart, too much for one bore: choose a ring for each position"
    told = []
    for ring in alone:
        by_nm = ring.od - _mean(alike)
        way = "larger" if by_nm.nm > 0 else "smaller"
        told.append(f"ring {ring.tag} is {abs(by_nm).shown(unit)} {way}")
    one = "a position for it, or put it away" if len(told) == 1 else "their positions"
    return f"{listed(told)} than the others: choose {one}"


def _rings(
    rows: PortRows, working: SetWorking | None
) -> tuple[tuple[RingRow, ...], tuple[str, ...]]:
    if working is None:
        return (), ("a ring set",)
    if rows.port.ring_id is not None:
        chosen = [row for row in working.rows if row.ring.id == rows.port.ring_id]
        if not chosen:
            return (), ("the chosen ring is no longer in the set: choose again",)
        return tuple(chosen), (chosen[0].open_words,) if chosen[0].open_words else ()
    if not working.rows:
        return (), ("the rings of its set",)
    if not working.free:
        return (), ("a ring: all of its set are chosen for other positions",)
    words = tuple(row.open_words for row in working.free if row.open_words)
    return tuple(row for row in working.free if row.is_good), words


def _window(
    head: HeadRows, rows: PortRows, rings: tuple[RingRow, ...], in_force: tuple[Rule, ...]
) -> Window | None:
    port = rows.port
    if port.rule_least is not None and port.rule_aim is not None and port.rule_most is not None:
        return Window(port.rule_least, port.rule_aim, port.rule_most, port.rule_source)
    if head.head.material is None or not rings:
        return None
    ods = [row.measured.od_nm for row in rings if row.measured]
    return window_for(head.head.material.value, _mean(ods), in_force, head.job.job.unit.value)


def window_for(material: str, od: Length, in_force: tuple[Rule, ...], unit: str) -> Window:
    """The rule of a material and a size, with words for its source."""
    rule = newest_that_applies(material=HeadMaterial(material), ring_od=od, rules=in_force)
    fit = rule.interference
    band = band_words(rule.od_from, rule.od_below, unit)
    words = f"{HeadMaterial(material).words}, {band}: {rule.source}"
    return Window(fit.least, fit.aim, fit.most, words[:200])


# Every page and every write of a head works its positions out again, mostly from the same figures.


@lru_cache(maxsize=2000)
def _target(ods: tuple[Fraction, ...], window: Window, unit: str) -> Target:
    return target_bore(
        ring_od_nm=sum(ods, Fraction(0)) / len(ods),
        window=fit_of(window),
        rule_source=window.source,
        rings=len(ods),
        unit=unit,
    )


def _depth(rows: PortRows, rings: tuple[RingRow, ...], unit: str) -> Depth:
    heights = tuple(row.measured.height_nm for row in rings if row.measured)
    return _depth_for(heights, rows.port.protrusion or Length(0), unit)


@lru_cache(maxsize=2000)
def _depth_for(heights: tuple[Fraction, ...], protrusion: Length, unit: str) -> Depth:
    return counterbore_depth(
        ring_height_nm=sum(heights, Fraction(0)) / len(heights),
        protrusion=protrusion,
        deck_stock=Length(0),
        # Deck stock is added at the clamp-up, when the datum is known.
        datum=Datum.CHAMBER_ROOF,
        unit=unit,
    )


def _mean(ods: list[Fraction]) -> Length:
    return Length.nearest(sum(ods, Fraction(0)) / len(ods))
