"""Which ring would save a position: rings of its set, of the shelf and of the size list."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.calc.overcut import OvercutToUse
from app.calc.rescue import Answer, Candidate, Finding, Rescue, RescueRing, RingPlace, rescue
from app.calc.units import Length
from app.models.crib import Cutter, Fixture, Pilot
from app.models.head import Port
from app.models.ring import RingSet
from app.models.ring_size import RingSize
from app.models.setting import Setting
from app.workflow.shop_rules import ShopRules
from app.workflow.words import FixtureMode
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows
from app.worksheets.interference import rules_in_force
from app.worksheets.overcut import overcut_to_use
from app.worksheets.rescue_ground import RescueGround, rescue_ground
from app.worksheets.ring_sets import RingRow, SetWorking, load_sets
from app.worksheets.settings import SettingWorking, setting_for

FLOOR = "cleans up the old floor"


@dataclass(frozen=True)
class Offer:
    """A ring as it can be had; ids say where it is, a size in print has only `size_id`."""

    ring: RescueRing
    told: str
    box_id: int | None = None
    ring_id: int | None = None
    size_id: int | None = None
    supplier: str = ""
    part: str = ""
    material: str = ""


@dataclass(frozen=True)
class RescueChoice:
    """One ring with what it would need; `setting` only where the ring was measured."""

    offer: Offer
    candidate: Candidate
    findings: tuple[Finding, ...]
    setting: SettingWorking | None

    @property
    def not_known(self) -> tuple[str, ...]:
        """Questions without an answer."""
        return tuple(one.question for one in self.findings if one.answer is Answer.NOT_KNOWN)


@dataclass(frozen=True)
class Tools:
    """The cutter that the size to set is worked for."""

    cutter: Cutter
    fixture: Fixture | None
    pilot: Pilot | None
    overcut: OvercutToUse


@dataclass(frozen=True)
class RescueWorking:
    """All rings looked at, by rising size; those that may do apart from those that will not."""

    ground: RescueGround
    result: Rescue
    possible: tuple[RescueChoice, ...]
    others: tuple[RescueChoice, ...]
    tools: Tools | None

    @property
    def says_how_large(self) -> bool:
        """The pocket is read: before that the smallest ring of all would be said to do."""
        pocket = self.ground.pocket
        return pocket.bore_max is not None and pocket.run_out is not None

    @property
    def not_known(self) -> tuple[str, ...]:
        """What nobody measured, as an order has it; a floor that is not there is not missing."""
        gone = () if self.ground.has_floor else ("old floor",)
        return tuple(each for each in self.result.wanted.not_known if each not in gone)


def work_rescue(
    session: Session,
    sheet: HeadSheet,
    rows: PortRows,
    rules: ShopRules,
    inside: Length | None = None,
) -> RescueWorking | None:
    """Look through every ring for a position; None until the head's material is said."""
    ground = rescue_ground(session, sheet, rows, rules, inside)
    if ground is None:
        return None
    unit = sheet.rows.job.job.unit.value
    offers = [*_of_set(session, sheet, rows), *_of_shelf(session, rules), *_of_list(session)]
    result = rescue(
        rings=[offer.ring for offer in offers],
        pocket=ground.pocket,
        neighbours=ground.neighbours,
        limits=ground.limits,
        material=ground.material,
        protrusion=ground.protrusion,
        ring_id_most=ground.inside,
        window=ground.window,
        rules=rules_in_force(session),
        unit=unit,
    )
    tools = _tools(session, sheet, rows, rules, unit)
    # Two boxes may have the same name: a ring is told by itself.
    by_ring = {id(offer.ring): offer for offer in offers}
    choices = [
        RescueChoice(
            by_ring[id(candidate.ring)],
            candidate,
            tuple(one for one in candidate.findings if ground.has_floor or one.question != FLOOR),
            _setting(candidate, tools, rules, unit),
        )
        for candidate in result.candidates
    ]
    return RescueWorking(
        ground=ground,
        result=result,
        possible=tuple(one for one in choices if one.candidate.is_possible),
        others=tuple(one for one in choices if not one.candidate.is_possible),
        tools=tools,
    )


def _of_set(session: Session, sheet: HeadSheet, rows: PortRows) -> Iterable[Offer]:
    """The other rings of its set that no position has taken, where they were read."""
    target = sheet.targets.get(rows.port.id)
    working = target.set_working if target else None
    if working is None:
        return
    own = rows.port_pass.ring_id if rows.port_pass else rows.port.ring_id
    pressed = {each.ring_in.ring_id for each in sheet.rows.ports if each.ring_in is not None}
    taken = set(
        session.exec(
            select(Port.ring_id).where(
                col(Port.ring_id).is_not(None),
                Port.ring_set_id == working.ring_set.id,
                Port.id != rows.port.id,
            )
        ).all()
    )
    for row in working.rows:
        if row.measured is not None and row.ring.id not in taken | pressed | {own}:
            yield _measured(working, row, RingPlace.SET, f"ring {row.tag} of its set", "measured")


def _of_shelf(session: Session, rules: ShopRules) -> Iterable[Offer]:
    """Every measured ring of the shelf by itself; of a box that nobody read one, by its label."""
    boxes = session.exec(
        select(RingSet).where(col(RingSet.job_id).is_(None)).order_by(col(RingSet.id))
    ).all()
    for working in load_sets(session, boxes, rules).values() if boxes else ():
        box = working.ring_set
        name = box.part or box.name or "box"
        where = f"on the shelf{f', {box.place}' if box.place else ''}"
        for row in working.good:
            yield _measured(
                working, row, RingPlace.SHELF, f"{name}, ring {row.tag}", f"{where}, measured"
            )
        unread = [row for row in working.rows if not row.is_good]
        if unread and box.label_od is not None:
            pieces = "one ring" if len(unread) == 1 else f"{len(unread)} rings"
            yield Offer(
                RescueRing(
                    name,
                    RingPlace.SHELF,
                    box.label_od,
                    box.label_height,
                    box.label_inside,
                    is_measured=False,
                ),
                f"{where}, {pieces}: as the box says, not measured",
                box_id=box.id,
                ring_id=unread[0].ring.id,
                supplier=box.supplier,
                part=box.part,
                material=working.material.name if box.material else "",
            )


def _of_list(session: Session) -> Iterable[Offer]:
    for size in session.exec(
        select(RingSize).where(col(RingSize.retired_at).is_(None)).order_by(col(RingSize.id))
    ):
        told = size.part or size.note
        name = " ".join(filter(None, [size.supplier, told])) or "listed"
        yield Offer(
            RescueRing(
                name, RingPlace.SIZE_LIST, size.od, size.height, size.inside, is_measured=False
            ),
            "size list: as it is printed, not measured",
            size_id=size.id,
            supplier=size.supplier,
            part=size.part,
            material=size.material,
        )


def _measured(working: SetWorking, row: RingRow, place: RingPlace, name: str, told: str) -> Offer:
    assert row.measured is not None
    box = working.ring_set
    return Offer(
        RescueRing(
            name,
            place,
            row.measured.od,
            row.measured.height,
            working.inside or box.label_inside,
            is_measured=True,
        ),
        told,
        box_id=box.id if place is RingPlace.SHELF else None,
        ring_id=row.ring.id,
        supplier=box.supplier,
        part=box.part,
        material=working.material.name if box.material else "",
    )


def _tools(
    session: Session, sheet: HeadSheet, rows: PortRows, rules: ShopRules, unit: str
) -> Tools | None:
    """The cutter of this position's setting, else of the job's newest."""
    setting = (
        rows.setting
        or session.exec(
            select(Setting)
            .where(Setting.job_id == sheet.head.job_id)
            .order_by(col(Setting.id).desc())
            .limit(1)
        ).first()
    )
    if setting is None or sheet.head.material is None:
        return None
    cutter = session.get_one(Cutter, setting.cutter_id)
    fixture = session.get(Fixture, setting.fixture_id) if setting.fixture_id else None
    pilot = session.get(Pilot, setting.pilot_id) if setting.pilot_id else None
    if fixture is None or cutter.fixed_size is not None:
        return None
    if fixture.mode is FixtureMode.ACROSS_PILOT and pilot is None:
        return None
    learned = overcut_to_use(session, cutter.id, sheet.head.material, rules, unit)
    return Tools(cutter, fixture, pilot, learned)


def _setting(
    candidate: Candidate, tools: Tools | None, rules: ShopRules, unit: str
) -> SettingWorking | None:
    """Nothing is set for a ring that nobody measured."""
    if tools is None or not candidate.ring.is_measured:
        return None
    return setting_for(
        tools.overcut,
        target_bore=candidate.bore,
        cutter=tools.cutter,
        fixture=tools.fixture,
        pilot=tools.pilot,
        rules=rules,
        unit=unit,
    )
