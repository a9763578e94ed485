"""Guides: decided, measured and serviced; what rests on a replaced one no longer stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from app.forms.guides import GuidesForm, PilotFitForm, ReplacedForm
from app.forms.readings import Entry
from app.models.crib import Pilot
from app.models.head import Head
from app.models.inspection import GuideWork
from app.services.owned import open_head, port_of
from app.services.readings import (
    PLAIN,
    ReadWith,
    read_afresh,
    record_readings,
    strike_reading,
)
from app.services.results import accept
from app.services.settings import lapse
from app.services.stages import refresh_stages
from app.services.stale import unsettle_port, unsettle_settings
from app.services.write import Refused, Write, use_case
from app.workflow.guide_outcomes import GuideOutcome
from app.workflow.kept import Kept
from app.workflow.kinds import Quantity, ReadingKind, ResultKind, SettingState
from app.workflow.stale import Change
from app.workflow.words import FixtureMode, GuideHow, listed
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.guides import is_serviced, outcome
from app.worksheets.head_rows import PortRows
from app.worksheets.pilots import enters
from app.worksheets.readings import Subject, load_readings

REPLACED = "its guide was replaced"
_SERVICED = {
    GuideHow.REPLACED: REPLACED,
    GuideHow.SLEEVED: "its guide was sleeved",
    GuideHow.REAMED: "its guide was reamed",
    GuideHow.KNURLED: "its guide was knurled",
}
_RESTS_ON_GUIDE = (
    ResultKind.PILOT_FIT,
    ResultKind.CLEAN_UP,
    ResultKind.FINISH,
    ResultKind.GUIDE_GRIP,
)
_NEEDS_REASON = (
    "Say why these are knurled and not replaced or sleeved: a knurled guide holds for less long, "
    "and the head record says so. Nothing was kept yet."
)


@use_case
def measure_guides(
    tx: Write,
    head_id: int,
    form: GuidesForm,
    entries: Sequence[Entry] = (),
    read_with: ReadWith = PLAIN,
) -> Head:
    """A page of guides: decisions first, since what was read before a service may be over."""
    _, head = open_head(tx, head_id)
    before = tx.logged
    decide_guides(tx, head_id, form)
    # Stems are read with a micrometer, not with the gauge that goes down the guides.
    for kind, by in (
        (ReadingKind.GUIDES, read_with),
        (ReadingKind.NEW_GUIDES, ReadWith(earlier=read_with.earlier)),
    ):
        own = [entry for entry in entries if entry.cell.kind is kind]
        if own:
            record_readings(tx, head, own, by)
    if tx.logged == before:
        return tx.leave(head)
    tx.log("measured guides", head, job=head.job_id, head=head)
    return head


@use_case
def decide_guides(tx: Write, head_id: int, form: GuidesForm) -> Head:
    """Left as they are, or serviced and how; what stands already is not written twice."""
    job, head = open_head(tx, head_id)
    for port_id in form.decisions:
        port_of(tx.session, head, port_id)
    sheet = load_sheet(tx.session, head)
    changed = {
        port_id: said
        for port_id, said in form.decisions.items()
        if outcome(sheet.rows.port(port_id)) is not said
    }
    if GuideOutcome.KNURLED in changed.values() and not form.what:
        raise Refused(_NEEDS_REASON, "what")
    over = _read_before(sheet, changed)
    if over and not form.read_before:
        raise Refused(_asks(over), "read_before")
    if not changed:
        return tx.leave(head)
    for port_id, said in changed.items():
        _write(tx, port_id, said, form.what)
        if port_id in over and form.read_before == "again":
            _no_longer(tx, sheet, sheet.rows.port(port_id), said.how)
    refresh_stages(tx, head)
    tx.log(
        "decided guides",
        head,
        job=job,
        head=head,
        decided=[[port_id, said] for port_id, said in changed.items()],
        read_before=form.read_before if over else "",
    )
    return head


@use_case
def replace_guides(tx: Write, head_id: int, form: ReplacedForm) -> Head:
    """Guides serviced after measuring: they are read again, and what rested on them is over."""
    assert form.how is not None
    job, head = open_head(tx, head_id)
    ports = [port_of(tx.session, head, port_id) for port_id in dict.fromkeys(form.port_ids)]
    if form.how is GuideHow.KNURLED and not form.what:
        raise Refused(_NEEDS_REASON, "what")
    sheet = load_sheet(tx.session, head)
    for port in ports:
        _write(tx, port.id, GuideOutcome(form.how.value), form.what)
        _no_longer(tx, sheet, sheet.rows.port(port.id), form.how)
    refresh_stages(tx, head)
    tx.log(
        "replaced guides",
        head,
        job=job,
        head=head,
        ports=[port.id for port in ports],
        how=form.how,
        what=form.what,
    )
    return head


@use_case
def say_pilot_fits(tx: Write, head_id: int, form: PilotFitForm) -> Head:
    """A pilot was tried in these guides and fits; guides that are smaller by their bores do not."""
    job, head = open_head(tx, head_id)
    ports = [port_of(tx.session, head, port_id) for port_id in dict.fromkeys(form.port_ids)]
    pilot = tx.session.get(Pilot, form.pilot_id)
    if pilot is None or pilot.retired_at is not None:
        raise Refused("This pilot is not in the crib any more; choose another.", "pilot")
    read = load_readings(tx.session, ReadingKind.GUIDES, "port", [port.id for port in ports])
    small = [port.label for port in ports if not enters(pilot, read[port.id])]
    if small:
        raise Refused(
            f"{listed(small)}: by its bore the guide is smaller than pilot {pilot.name}. "
            "Read the guide again, or choose a smaller pilot; nothing was changed.",
            "pilot",
        )
    for port in ports:
        accept(
            tx,
            ResultKind.PILOT_FIT,
            {"pilot": pilot.id, "name": pilot.name, "guide_diameter": pilot.guide_diameter},
            readings=[kept.id for kept in read[port.id].of(Quantity.GUIDE_BORE)],
            port_id=port.id,
        )
    refresh_stages(tx, head)
    tx.log(
        "tried a pilot in guides",
        head,
        job=job,
        head=head,
        pilot=pilot.id,
        ports=[port.id for port in ports],
    )
    return head


def _read_before(sheet: HeadSheet, changed: Mapping[int, GuideOutcome]) -> dict[int, list[str]]:
    """What was read before a guide was said to be serviced, in words, by position."""
    found: dict[int, list[str]] = {}
    for port_id, said in changed.items():
        rows = sheet.rows.port(port_id)
        # Saying how a serviced guide was serviced is no new service.
        if said is GuideOutcome.LEFT or outcome(rows) is GuideOutcome.SERVICED:
            continue
        told = _of_this_guide(sheet, rows)
        if told:
            found[port_id] = [rows.label, *told]
    return found


def _of_this_guide(sheet: HeadSheet, rows: PortRows) -> list[str]:
    """What is only true of the guide that it was read on."""
    told = [rows.guides.counting[-1].typed] if rows.guides and rows.guides.counting else []
    fit = sheet.rows.accepted.of_port(rows.port.id, ResultKind.PILOT_FIT)
    if fit is not None and fit.stands:
        told.append("pilot fit")
    if _old_run_out(rows):
        told.append("old bore run-out")
    if rows.finish is not None and rows.finish.of(Quantity.RUN_OUT):
        told.append("seat run-out")
    return told


def _old_run_out(rows: PortRows) -> tuple[Kept, ...]:
    """The old pocket's run-out to the guide; once the new bore is cut nobody can read it again."""
    if rows.pockets is None or rows.cut is not None:
        return ()
    return rows.pockets.of(Quantity.OLD_RUN_OUT)


def _asks(over: Mapping[int, Sequence[str]]) -> str:
    told = [f"{label} {listed(what)}" for label, *what in over.values()]
    return (
        f"Read before this was said: {'; '.join(told)}. Were these read on the guides as they are "
        "now, after the service?"
    )


def _write(tx: Write, port_id: int, said: GuideOutcome, what: str) -> None:
    tx.session.add(
        GuideWork(
            port_id=port_id,
            decision=said.decision,
            how=said.how,
            what=what,
            by_id=tx.by_id,
            at=tx.at,
        )
    )


def _no_longer(tx: Write, sheet: HeadSheet, rows: PortRows, how: GuideHow | None) -> None:
    """Mark what rested on the guide as it was, and start over what was read on it."""
    because = _SERVICED[how] if how else "its guide was serviced"
    head, port = sheet.head, rows.port
    unsettle_port(tx, port.id, _RESTS_ON_GUIDE, because, Change.GUIDE_REPLACED)
    _lapse_across_pilot(tx, rows, because)
    subject = Subject("port", port.id)
    if rows.guides is not None and rows.guides.counting:
        read_afresh(tx, head, subject, ReadingKind.GUIDES)
    if rows.finish is not None and rows.finish.counting and rows.signature is None:
        read_afresh(tx, head, subject, ReadingKind.FINISH)
    for kept in (*_old_run_out(rows), *_of_the_part_before(rows)):
        strike_reading(tx, kept.id, because, head)


def _lapse_across_pilot(tx: Write, rows: PortRows, because: str) -> None:
    """A size that was measured across a pilot is over: the next guide may want another pilot."""
    setting = rows.setting
    if setting is None or rows.cut is not None or setting.mode is not FixtureMode.ACROSS_PILOT:
        return
    if setting.state is SettingState.ENDED:
        return
    because = f"{rows.label}: {because}"
    lapse(tx, setting, because)
    unsettle_settings(tx, [setting.id], because, Change.GUIDE_REPLACED)


def _of_the_part_before(rows: PortRows) -> Iterable[Kept]:
    """Readings of a part that was pressed in before; those of the one going in now still count."""
    if rows.new_guides is None or not is_serviced(rows):
        return ()
    return [kept for kept in rows.new_guides.counting if kept.quantity is not Quantity.STEM]
