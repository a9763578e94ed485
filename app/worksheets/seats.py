"""One seat worked out: the cuts, the land before and after, and what they do to the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.calc.errors import ImpossibleError
from app.calc.seat import Seat, seat_land
from app.calc.seat_cuts import SeatCuts, cuts_for_land
from app.calc.seat_sink import ValveSink, valve_sink
from app.calc.seat_valve import (
    ChamberGrowth,
    SpringShim,
    StemHeight,
    ValveContact,
    chamber_growth,
    spring_shim,
    stem_height,
    valve_contact,
)
from app.calc.trace import Step
from app.calc.units import Length
from app.forms.seats import SeatForm
from app.models.seat_plan import SeatPlan
from app.workflow.fit_advice import Advice
from app.workflow.kinds import Quantity, Unit
from app.workflow.seats import (
    RingEdges,
    contact_advice,
    first,
    no_contact,
    ring_advice,
    width_advice,
)
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Kind
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows
from app.worksheets.seat_lines import CutLine, LandLine, RestLine, cut_lines, land_lines, rest_lines
from app.worksheets.seat_plans import width_window


@dataclass(frozen=True, slots=True)
class Block:
    """A working with its heading."""

    title: str
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class SeatWork:
    """A seat as it can be worked from what was typed."""

    now: Seat
    wanted: Seat
    cuts: SeatCuts
    cut_lines: tuple[CutLine, ...]
    land_lines: tuple[LandLine, ...]
    contact_now: ValveContact | None
    contact_wanted: ValveContact | None
    sink: Length
    sink_by_face: ValveSink | None  # None: the seat cut alone, as for a face at the seat's angle
    rest: tuple[RestLine, ...]
    advice: tuple[Advice, ...]
    blocks: tuple[Block, ...]

    @property
    def is_as_wanted(self) -> bool:
        """Nothing is to be cut, to what is shown."""
        return not any(line.depth for line in self.cut_lines)


def work_seat(form: SeatForm, kind: Kind, rules: ShopRules) -> SeatWork:
    """Everything that the typed figures allow; `form` is complete and without faults.

    A `CalculationError` names what cannot be.
    """
    assert form.outer is not None
    assert form.inner is not None
    assert form.outer_wanted is not None
    assert form.width_wanted is not None
    assert form.seat_angle is not None
    assert form.top_angle is not None
    assert form.throat_angle is not None
    unit = form.unit.value
    cuts = cuts_for_land(
        outer=form.outer,
        inner=form.inner,
        seat_angle_deg=form.seat_angle,
        outer_wanted=form.outer_wanted,
        width_wanted=form.width_wanted,
        top_angle_deg=form.top_angle,
        throat_angle_deg=form.throat_angle,
        unit=unit,
    )
    now, wanted = (
        seat_land(outer=outer, inner=inner, seat_angle_deg=form.seat_angle, unit=unit)
        for outer, inner in (
            (form.outer, form.inner),
            (cuts.outer_wanted, cuts.inner_wanted),
        )
    )
    contact_now, contact_wanted, by_face, unmet = _on_the_valve(form, cuts)
    sink = by_face.sink if by_face is not None else cuts.seat_sink
    stem, spring, chamber = _rest(form, sink, can_sink=not unmet)
    advice = [
        *unmet,
        *_advice(form, kind, rules, cuts, contact_wanted),
    ]
    return SeatWork(
        now=now,
        wanted=wanted,
        cuts=cuts,
        cut_lines=cut_lines(form, cuts),
        land_lines=land_lines(form, now, wanted, cuts),
        contact_now=contact_now,
        contact_wanted=contact_wanted,
        sink=sink,
        sink_by_face=by_face,
        rest=rest_lines(form, sink, by_face, stem, spring, chamber) if not unmet else (),
        advice=tuple(first(advice)),
        blocks=_blocks(now, wanted, cuts, contact_wanted, by_face, stem, spring, chamber),
    )


def ring_edges(sheet: HeadSheet, rows: PortRows) -> RingEdges:
    """The ring that is in, or is chosen; of a set without a choice, what all its rings are."""
    target = sheet.targets.get(rows.port.id)
    working = target.set_working if target else None
    if working is None:
        return RingEdges(None, None)
    wanted = rows.ring_in.ring_id if rows.ring_in else rows.port.ring_id
    row = next((one for one in working.rows if one.ring.id == wanted), None)
    inside = row.readings.one(Quantity.RING_ID) if row else None
    if row is not None and row.measured is not None:
        outside: Length | None = row.measured.od
    else:
        outside = None if working.od_nm is None else Length.nearest(working.od_nm)
    unit = sheet.rows.job.job.unit
    return RingEdges(_as_shown(outside, unit), _as_shown(inside or working.inside, unit))


def _as_shown(size: Length | None, unit: Unit) -> Length | None:
    """What a land is held against is what the page says, not a mean with more figures."""
    return None if size is None else Length.of(size.shown(unit.value), unit.value)


def same_as_plan(form: SeatForm, plan: SeatPlan | None) -> bool:
    """Whether what is typed is what is kept as wanted already."""
    return plan is not None and (
        form.seat_angle,
        form.top_angle,
        form.throat_angle,
        form.width_wanted,
        form.outer_wanted,
        form.valve_angle,
        form.valve_head,
    ) == (
        plan.seat_angle_deg,
        plan.top_angle_deg,
        plan.throat_angle_deg,
        plan.width_wanted,
        plan.outer_wanted,
        plan.valve_angle_deg,
        plan.valve_head,
    )


def on_record(rows: PortRows, plan: SeatPlan | None) -> dict[str, Length | None]:
    """What the record knows of a seat, by the field that it fills."""
    finish, stems, pockets = rows.finish, rows.stems, rows.pockets
    before = stems.one(Quantity.STEM_HEIGHT) if stems else None
    after = finish.one(Quantity.STEM_AFTER) if finish else None
    head = pockets.one(Quantity.VALVE_HEAD) if pockets else None
    return {
        "width": finish.one(Quantity.SEAT_WIDTH) if finish else None,
        "width_wanted": plan.width_wanted if plan else None,
        "outer_wanted": plan.outer_wanted if plan else None,
        "valve_head": head if plan is None or plan.valve_head is None else plan.valve_head,
        "stem": before if after is None else after,
        "stem_wanted": before,
    }


def _on_the_valve(
    form: SeatForm, cuts: SeatCuts
) -> tuple[ValveContact | None, ValveContact | None, ValveSink | None, list[Advice]]:
    """Contact now and after, and how far the valve sinks; words where they do not meet."""
    head, angle = form.valve_head, form.valve_angle
    if head is None or angle is None:
        return None, None, None, []
    assert form.seat_angle is not None
    assert form.outer is not None
    assert form.inner is not None
    unit = form.unit.value
    unmet: list[Advice] = []

    def contact(outer: Length, inner: Length, words: str) -> ValveContact | None:
        assert form.seat_angle is not None
        try:
            return valve_contact(
                outer=outer,
                inner=inner,
                seat_angle_deg=form.seat_angle,
                face_outer=head,
                face_inner=form.face_inner,
                face_angle_deg=angle,
                unit=unit,
            )
        except ImpossibleError:
            unmet.append(no_contact(words))
            return None

    now = contact(form.outer, form.inner, "As it is,")
    wanted = contact(cuts.outer_wanted, cuts.inner_wanted, "As wanted,")
    if now is None or wanted is None:
        return now, wanted, None, unmet
    sink = valve_sink(
        outer=form.outer,
        inner=form.inner,
        outer_after=cuts.outer_wanted,
        inner_after=cuts.inner_wanted,
        seat_angle_deg=form.seat_angle,
        seat_sink=cuts.seat_sink,
        face_outer=head,
        face_inner=form.face_inner,
        face_angle_deg=angle,
        unit=unit,
    )
    return now, wanted, sink, unmet


def _rest(
    form: SeatForm, sink: Length, *, can_sink: bool
) -> tuple[StemHeight | None, SpringShim | None, ChamberGrowth | None]:
    unit = form.unit.value
    stem = spring = chamber = None
    if not can_sink:
        return None, None, None
    if form.stem is not None and form.stem_wanted is not None:
        stem = stem_height(measured=form.stem, book=form.stem_wanted, sink=sink, unit=unit)
    if form.spring is not None and form.spring_wanted is not None:
        spring = spring_shim(measured=form.spring, book=form.spring_wanted, sink=sink, unit=unit)
    if form.valve_head is not None:
        chamber = chamber_growth(valve_head=form.valve_head, sink=sink, unit=unit)
    return stem, spring, chamber


def _advice(
    form: SeatForm,
    kind: Kind,
    rules: ShopRules,
    cuts: SeatCuts,
    contact: ValveContact | None,
) -> list[Advice]:
    assert form.width_wanted is not None
    assert form.outer is not None
    assert form.inner is not None
    ring, unit = form.ring, form.unit
    found = [
        *ring_advice("wanted land", cuts.outer_wanted, cuts.inner_wanted, ring, unit),
        *ring_advice("land as it is", form.outer, form.inner, ring, unit),
    ]
    if contact is not None:
        assert form.seat_angle is not None
        assert form.valve_angle is not None
        found += contact_advice(
            contact=contact,
            seat_angle_deg=form.seat_angle,
            face_angle_deg=form.valve_angle,
            clear=rules.length("valve_face_clear"),
            clear_source=rules.source("valve_face_clear"),
            unit=form.unit,
        )
    window = width_window(kind, rules)
    return found + width_advice(width=form.width_wanted, kind=kind, window=window, unit=form.unit)


def _blocks(
    now: Seat,
    wanted: Seat,
    cuts: SeatCuts,
    contact: ValveContact | None,
    by_face: ValveSink | None,
    *rest: StemHeight | SpringShim | ChamberGrowth | None,
) -> tuple[Block, ...]:
    titles = ("Stem height", "Spring", "Chamber")
    found: Sequence[tuple[str, object]] = (
        ("The cuts", cuts),
        ("The land as it is", now),
        ("The land as wanted", wanted),
        ("Contact, as wanted", contact),
        ("How far the valve sinks", by_face),
        *zip(titles, rest, strict=True),
    )
    return tuple(
        Block(title, result.working)
        for title, result in found
        if isinstance(
            result,
            SeatCuts | Seat | ValveContact | ValveSink | StemHeight | SpringShim | ChamberGrowth,
        )
    )
