"""Guides: decided, measured and replaced; what rests on a replaced one no longer stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from sqlmodel import col, select

from app.forms.guides import GuidesForm, PilotFitForm, ReplacedForm
from app.forms.readings import Entry
from app.models.crib import Pilot
from app.models.head import Head, Port
from app.models.inspection import GuideWork
from app.services.owned import open_head, port_of
from app.services.readings import PLAIN, ReadWith, read_afresh, record_readings
from app.services.results import accept
from app.services.stages import refresh_stages
from app.services.stale import unsettle_port
from app.services.write import Refused, Write, use_case
from app.workflow.kinds import Quantity, ReadingKind, ResultKind
from app.workflow.stale import Change
from app.workflow.words import GuideDecision, listed
from app.worksheets.pilots import enters
from app.worksheets.readings import Readings, Subject, load_readings

REPLACED = "its guide was replaced"
_RESTS_ON_GUIDE = (ResultKind.PILOT_FIT, ResultKind.CLEAN_UP, ResultKind.FINISH)


@use_case
def measure_guides(
    tx: Write,
    head_id: int,
    form: GuidesForm,
    entries: Sequence[Entry] = (),
    read_with: ReadWith = PLAIN,
) -> Head:
    """A page of guides: decisions first, since a bore read before a service may be over."""
    _, head = open_head(tx, head_id)
    before = tx.logged
    decide_guides(tx, head_id, form)
    if entries:
        record_readings(tx, head, entries, read_with)
    if tx.logged == before:
        return tx.leave(head)
    tx.log("measured guides", head, job=head.job_id, head=head)
    return head


@use_case
def decide_guides(tx: Write, head_id: int, form: GuidesForm) -> Head:
    """Serviced or left as they are; what stands already is not written twice."""
    job, head = open_head(tx, head_id)
    ports = {port_id: port_of(tx.session, head, port_id) for port_id in form.decisions}
    newest = _newest(tx, ports)
    changed = {
        port_id: said
        for port_id, said in form.decisions.items()
        if port_id not in newest or newest[port_id].decision is not said
    }
    over = _read_before(tx, ports, changed)
    if over and not form.read_before:
        raise Refused(_asks(ports, over), "read_before")
    if not changed:
        return tx.leave(head)
    for port_id, said in changed.items():
        _write(tx, ports[port_id], said, form.what if said is GuideDecision.SERVICED else "")
        if port_id in over and form.read_before == "again":
            _no_longer(tx, head, ports[port_id])
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
    """New guides after measuring: their bores are read again, and what rested on them is over."""
    job, head = open_head(tx, head_id)
    ports = [port_of(tx.session, head, port_id) for port_id in dict.fromkeys(form.port_ids)]
    for port in ports:
        _write(tx, port, GuideDecision.SERVICED, form.what)
        _no_longer(tx, head, port)
    refresh_stages(tx, head)
    tx.log(
        "replaced guides",
        head,
        job=job,
        head=head,
        ports=[port.id for port in ports],
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


def _newest(tx: Write, port_ids: Iterable[int]) -> dict[int, GuideWork]:
    rows = tx.session.exec(
        select(GuideWork)
        .where(col(GuideWork.port_id).in_(list(port_ids)))
        .order_by(col(GuideWork.id))
    )
    return {row.port_id: row for row in rows}


def _read_before(
    tx: Write, ports: Mapping[int, Port], changed: Mapping[int, GuideDecision]
) -> dict[int, Readings]:
    """Guides that are said to be serviced now, and were read before it was said."""
    serviced = [port_id for port_id, said in changed.items() if said is GuideDecision.SERVICED]
    found = load_readings(tx.session, ReadingKind.GUIDES, "port", serviced)
    return {port_id: readings for port_id, readings in found.items() if readings.counting}


def _asks(ports: Mapping[int, Port], over: Mapping[int, Readings]) -> str:
    told = [
        f"{ports[port_id].label} {readings.counting[-1].typed}"
        for port_id, readings in over.items()
    ]
    return (
        f"Read before this was said: {listed(told)}. Were these read on the guides as they are "
        "now, after the service?"
    )


def _write(tx: Write, port: Port, said: GuideDecision, what: str) -> None:
    tx.session.add(GuideWork(port_id=port.id, decision=said, what=what, by_id=tx.by_id, at=tx.at))


def _no_longer(tx: Write, head: Head, port: Port) -> None:
    unsettle_port(tx, port.id, _RESTS_ON_GUIDE, REPLACED, Change.GUIDE_REPLACED)
    subject = Subject("port", port.id)
    if load_readings(tx.session, ReadingKind.GUIDES, "port", [port.id])[port.id].counting:
        read_afresh(tx, head, subject, ReadingKind.GUIDES)
