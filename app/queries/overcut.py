"""What a cutter has cut, material by material and tip by tip: judged, and listed cut by cut."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from app.calc.overcut import Overcut, overcut
from app.calc.overcut_signs import OvercutSigns
from app.calc.shown import shown_sum
from app.calc.units import Length
from app.models.crib import Cutter, TipChange
from app.models.head import Head, Port
from app.models.job import Job
from app.models.port_pass import Cut, OvercutSample, OvercutStrike, PortPass
from app.workflow.overcut_advice import (
    OvercutAdvice,
    advise,
    chance_words,
    sign_words,
)
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Material
from app.worksheets.overcut import (
    cuts_of,
    newest_tip,
    signs_of,
)
from app.worksheets.shop_rules import current_rules

MOST_DRAWN = 50  # cuts of one tip in one material on a chart
MOST_OF_OLDER_TIPS = 150


@dataclass(frozen=True, slots=True)
class CutOnRecord:
    """One signed bore: where it was cut, and measured less set as texts that subtract."""

    sample_id: int
    nth: int | None  # among the cuts that count, from 1; none for one that is left out
    number: str
    where: str
    label: str
    set_size: str
    measured: str
    overcut: str
    value: Length
    at: datetime
    signs: tuple[str, ...] = ()
    left_out: str = ""  # the reason


@dataclass(frozen=True, slots=True)
class TipRecord:
    """What one tip has cut in one material, the newest cuts drawn and listed."""

    tip: TipChange | None  # none: the tip that the cutter came with
    learned: Overcut | None  # none while every cut is left out
    signs: OvercutSigns
    advice: OvercutAdvice
    chance: str
    cuts: tuple[CutOnRecord, ...]
    not_drawn: int  # older ones that count all the same
    dead_band: Length  # what the shop leaves alone


@dataclass(frozen=True, slots=True)
class MaterialRecord:
    """One head material: the tip in the cutter now, and those before it, newest first."""

    material: Material
    unit: str  # of the jobs it was cut for; the shop's where they differ
    now: TipRecord | None
    older: tuple[TipRecord, ...]


@dataclass(frozen=True, slots=True)
class LeavingOut:
    """One cut of the tip that is in the cutter now, and the mean with and without it."""

    cutter: Cutter
    material: Material
    unit: str  # of the job it was cut for
    cut: CutOnRecord
    mean: str
    without: str  # empty when no other cut would be left
    count: int


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a pass was cut: job, head with position, position alone, and the job's unit."""

    number: str
    where: str
    label: str
    unit: str


@dataclass(frozen=True, slots=True)
class _Row:
    sample: OvercutSample
    at: datetime
    left_out: str


def overcut_records(session: Session, cutter: Cutter, unit: str) -> list[MaterialRecord]:
    """Every material that the cutter has cut, the one cut last first."""
    tips = {
        tip.id: tip
        for tip in session.exec(
            select(TipChange).where(TipChange.cutter_id == cutter.id).order_by(col(TipChange.id))
        )
    }
    now = max(tips, default=None)
    rules = current_rules(session)
    found: dict[Material, dict[int | None, list[_Row]]] = defaultdict(lambda: defaultdict(list))
    for row in [*_older_rows(session, cutter.id, now), *_rows(session, cutter.id, now)]:
        found[row.sample.material][row.sample.tip_change_id].append(row)
    drawn = [rows[-MOST_DRAWN:] for by_tip in found.values() for rows in by_tip.values()]
    places = _places(session, [row.sample.port_pass_id for rows in drawn for row in rows])
    goes_under = cutter.fixed_size is None

    def of_material(material: Material) -> MaterialRecord:
        by_tip = found[material]
        newest = [row.sample.port_pass_id for rows in by_tip.values() for row in rows[-MOST_DRAWN:]]
        units = {places[pass_id].unit for pass_id in newest}
        own = units.pop() if len(units) == 1 else unit

        def record(tip_id: int | None) -> TipRecord:
            tip = tips[tip_id] if tip_id is not None else None
            return _record(tip, by_tip[tip_id], places, rules, own, goes_under=goes_under)

        before = [tip_id for tip_id in by_tip if tip_id != now]
        return MaterialRecord(
            material=material,
            unit=own,
            now=record(now) if now in by_tip else None,
            older=tuple(record(each) for each in sorted(before, key=_age, reverse=True)),
        )

    last = {
        material: max(row.sample.cut_id for rows in by_tip.values() for row in rows)
        for material, by_tip in found.items()
    }
    return [of_material(material) for material in sorted(last, key=last.__getitem__, reverse=True)]


def _age(tip_id: int | None) -> int:
    return tip_id or 0  # the tip that the cutter came with is the oldest


def leaving_out(session: Session, cutter: Cutter, sample_id: int) -> LeavingOut | None:
    """A cut that still counts for the tip in the cutter now; none for any other."""
    tip = newest_tip(session, cutter.id)
    rows = _rows(session, cutter.id, tip.id if tip else None)
    here = next((row for row in rows if row.sample.id == sample_id and not row.left_out), None)
    if here is None:
        return None
    own = [row for row in rows if row.sample.material is here.sample.material and not row.left_out]
    others = cuts_of([row.sample for row in own if row is not here])
    places = _places(session, [here.sample.port_pass_id])
    unit = places[here.sample.port_pass_id].unit
    return LeavingOut(
        cutter=cutter,
        material=here.sample.material,
        unit=unit,
        cut=_on_record(here, own.index(here) + 1, places, unit, ()),
        mean=overcut(cuts=cuts_of([row.sample for row in own]), unit=unit).working[0].value,
        without=overcut(cuts=others, unit=unit).working[0].value if others else "",
        count=len(own),
    )


def _rows(session: Session, cutter_id: int, tip_id: int | None) -> list[_Row]:
    """Every cut of one tip, left out or not, in the order of cutting."""
    of_tip = (
        col(OvercutSample.tip_change_id).is_(None)
        if tip_id is None
        else col(OvercutSample.tip_change_id) == tip_id
    )
    found = session.exec(
        select(OvercutSample, Cut.at, OvercutStrike.reason)
        .join(Cut, col(Cut.id) == col(OvercutSample.cut_id))
        .outerjoin(OvercutStrike, col(OvercutStrike.overcut_sample_id) == col(OvercutSample.id))
        .where(OvercutSample.cutter_id == cutter_id, of_tip)
        .order_by(col(OvercutSample.cut_id))
    )
    return [_Row(sample, at, reason or "") for sample, at, reason in found]


def _older_rows(session: Session, cutter_id: int, tip_id: int | None) -> list[_Row]:
    """The newest cuts of the tips before this one, in the order of cutting."""
    if tip_id is None:
        return []
    found = session.exec(
        select(OvercutSample, Cut.at, OvercutStrike.reason)
        .join(Cut, col(Cut.id) == col(OvercutSample.cut_id))
        .outerjoin(OvercutStrike, col(OvercutStrike.overcut_sample_id) == col(OvercutSample.id))
        .where(
            OvercutSample.cutter_id == cutter_id,
            col(OvercutSample.tip_change_id).is_(None)
            | (col(OvercutSample.tip_change_id) != tip_id),
        )
        .order_by(col(OvercutSample.cut_id).desc())
        .limit(MOST_OF_OLDER_TIPS)
    ).all()
    return [_Row(sample, at, reason or "") for sample, at, reason in reversed(found)]


def _places(session: Session, pass_ids: Sequence[int]) -> dict[int, _Place]:
    return {
        pass_id: _Place(job.number, f"{head} {label}".strip(), label, job.unit.value)
        for pass_id, label, head, job in session.exec(
            select(PortPass.id, Port.label, Head.name, Job)
            .join(Port, col(Port.id) == col(PortPass.port_id))
            .join(Head, col(Head.id) == col(Port.head_id))
            .join(Job, col(Job.id) == col(Head.job_id))
            .where(col(PortPass.id).in_(pass_ids))
        )
    }


def _record(
    tip: TipChange | None,
    rows: list[_Row],
    places: dict[int, _Place],
    rules: ShopRules,
    unit: str,
    *,
    goes_under: bool,
) -> TipRecord:
    good = [row for row in rows if not row.left_out]
    cuts = cuts_of([row.sample for row in good])
    signs = signs_of(cuts, rules, unit)
    nth = {row.sample.id: place for place, row in enumerate(good, start=1)}
    told: dict[int, list[str]] = defaultdict(list)
    for sign in signs.signs:
        for place in range(sign.first, sign.last + 1):
            told[place + 1].append(sign_words(sign))
    drawn = rows[-MOST_DRAWN:]
    return TipRecord(
        tip=tip,
        learned=overcut(cuts=cuts, unit=unit) if cuts else None,
        signs=signs,
        advice=advise(
            signs,
            dead_band=rules.length("correction_dead_band"),
            goes_under=goes_under and signs.count < rules.whole("good_cuts_needed"),
            unit=unit,
        ),
        chance=chance_words(signs.count),
        cuts=tuple(
            _on_record(
                row,
                nth.get(row.sample.id),
                places,
                unit,
                tuple(told.get(nth.get(row.sample.id, 0), ())),
            )
            for row in drawn
        ),
        not_drawn=len(rows) - len(drawn),
        dead_band=rules.length("correction_dead_band"),
    )


def _on_record(
    row: _Row,
    nth: int | None,
    places: dict[int, _Place],
    unit: str,
    signs: tuple[str, ...],
) -> CutOnRecord:
    one = row.sample
    shown = shown_sum(parts=((1, one.measured.nm), (-1, one.set_size.nm)), unit=unit)
    place = places[one.port_pass_id]
    return CutOnRecord(
        sample_id=one.id,
        nth=nth,
        number=place.number,
        where=place.where,
        label=place.label,
        set_size=shown.parts[1],
        measured=shown.parts[0],
        overcut=shown.total,
        value=one.measured - one.set_size,
        at=row.at,
        signs=signs,
        left_out=row.left_out,
    )
