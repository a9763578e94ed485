"""The counter's page of a job, gathered for its template."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from app.forms.notes import NoteForm
from app.forms.price_lines import PriceLineForm
from app.models.head import Port
from app.queries.jobs import HeadView, JobView
from app.web import addresses
from app.web.drawing import HeadMap
from app.web.maps import map_of
from app.web.render import page
from app.workflow.kinds import NoteKind
from app.workflow.stages import PortStage, stages_of
from app.workflow.words import Stage, VerifyPart, Work, counted, listed, place_words
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows
from app.worksheets.inspection_points import inspection_run
from app.worksheets.verifications import proved_sum


@dataclass(frozen=True, slots=True)
class PositionLine:
    """One position with a seat ring, as the counter reads it."""

    label: str
    kind: str
    ring: str
    counterbore: str
    cut: str
    interference: str
    state: str
    state_kind: str
    href: str


@dataclass(frozen=True, slots=True)
class HeadOnPage:
    """One head with its map, its lines, and the others in one sentence."""

    view: HeadView
    map: HeadMap | None
    lines: tuple[PositionLine, ...]
    others: str
    others_state: str
    others_count: str
    inspection: str  # how far it is looked at, until metal comes off; empty from then on


def show_page(request: Request, view: JobView, summary: str, status: int = 200) -> Response:
    """The page as it stands."""
    number, place = view.job.number, place_words(view.job.place)
    step = view.next
    href = ""
    if step is not None:
        head = view.heads[step.head] if step.head is not None else None
        rows = (
            next((r for r in head.sheet.rows.ports if r.label == step.label), None)
            if head
            else None
        )
        href = addresses.of_page(
            step.page,
            number,
            head.head.id if head else None,
            rows.port.id if rows else None,
            rows.port.ring_set_id if rows else None,
        )
    return page(
        request,
        "jobs/show.html",
        status,
        nav="counter",
        view=view,
        job=view.job,
        summary=" · ".join(filter(None, [summary, "" if view.is_over else place])),
        heads=[_head(each, number) for each in view.heads],
        next_href=href,
        about=about_choices(view),
        colleagues=[each for each in view.people if each[0] != request.state.person.id],
        note_form=NoteForm.showing({"kind": NoteKind.NOTE}),
        price_form=PriceLineForm.showing(),
    )


def about_choices(view: JobView) -> list[tuple[str, str]]:
    """What a note may be about."""
    found = [("", "the whole job")]
    for each in view.heads:
        name = each.name or "the head"
        if len(view.heads) > 1:
            found.append((f"head-{each.head.id}", name))
        found += [
            (f"port-{rows.port.id}", f"{each.head.name} {rows.label}".strip())
            for rows in each.sheet.rows.ports
        ]
    return found


def _head(view: HeadView, number: str) -> HeadOnPage:
    sheet = view.sheet
    at = stages_of(sheet.facts)
    with_ring = [rows for rows in sheet.rows.ports if rows.port.work is Work.RING]
    others = [rows for rows in sheet.rows.ports if rows.port.work is not Work.RING]
    to_do = [rows for rows in others if at[rows.label].stage is not Stage.DONE]
    return HeadOnPage(
        view=view,
        map=map_of(sheet, href=lambda port: _href(sheet, at, port, number)),
        lines=tuple(_line(sheet, rows, at[rows.label], number) for rows in with_ring),
        others=_told_others(others),
        others_state="to do" if any(r.port.work is not Work.LEAVE for r in to_do) else "done",
        others_count=counted(len(others), "other" if with_ring else "position"),
        inspection="" if sheet.facts.metal_off else inspection_run(sheet, 0).told,
    )


def _href(sheet: HeadSheet, at: dict[str, PortStage], port: Port, number: str) -> str:
    step = at[port.label].next
    if step is None:
        return f"{addresses.job(number)}/sheets"
    return addresses.of_page(step.page, number, sheet.head.id, port.id, port.ring_set_id)


def _line(sheet: HeadSheet, rows: PortRows, at: PortStage, number: str) -> PositionLine:
    facts = sheet.facts.port(rows.label)
    state, kind = _state(at, facts.hold is not None)
    ring = facts.ring_read.told if facts.ring_read.is_closed_by_value else ""
    cut, interference = facts.bore_measured.told, ""
    proved = proved_sum(rows, sheet.rows.job.job.unit) if facts.verdict is not None else None
    if proved is not None:
        (ring, cut), interference = proved.parts, proved.total
    return PositionLine(
        label=rows.label,
        kind=rows.port.kind.screen,
        ring=ring,
        counterbore=facts.target.told if facts.target.is_closed_by_value else "",
        cut=cut,
        interference=interference,
        state=state,
        state_kind=kind,
        href=_href(sheet, {rows.label: at}, rows.port, number),
    )


def _state(at: PortStage, on_hold: bool) -> tuple[str, str]:
    if on_hold:
        return "on hold", "hold"
    if at.stage is Stage.DONE:
        return "done", "done"
    if at.has(VerifyPart.SEAT_FINISHED):
        return "seat finished", ""
    if at.has(VerifyPart.RING_IN):
        return "ring in", ""
    if at.has(VerifyPart.BORE_PROVED):
        return "bore proved", ""
    return f"at {at.stage.screen}" if at.stage is not Stage.INTAKE else "taken in", "plain"


def _told_others(others: list[PortRows]) -> str:
    """``seat only 1E, 1I and 2I; leave 4E``."""
    by_work: dict[Work, list[str]] = {}
    for rows in others:
        by_work.setdefault(rows.port.work, []).append(rows.label)
    return "; ".join(f"{work.screen}: {listed(labels)}" for work, labels in by_work.items())
