"""Sheets on paper: drawn from the record, alike as a draft and as it is issued."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache, partial
from typing import Any
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.calc.trace import canonical
from app.calc.units import Length
from app.db import now
from app.models.head import Head
from app.models.job import Job
from app.paths import folder
from app.queries.head_records import head_record
from app.queries.record_lines import PositionRecord
from app.queries.set_up_sheets import SetUpSheet, set_up_sheet
from app.queries.sheets import Issue, Letterhead, letterhead
from app.services.owned import zone_of
from app.services.sheets import Draw, Drawn
from app.web import addresses
from app.web.drawing import HeadMap, MapPosition, head_map, interference_scale
from app.web.maps import map_of
from app.web.qr import qr_svg
from app.web.render import render
from app.workflow.kinds import SheetKind, Unit
from app.workflow.words import DAYS, MONTHS
from app.worksheets.facts import HeadSheet, load_sheets

OTHER = {Unit.INCH: Unit.MM, Unit.MM: Unit.INCH}


@dataclass(frozen=True, slots=True)
class Content:
    """What one kind of sheet holds: its figures, and what its template draws beside them."""

    figures: Any
    drawn: Mapping[str, Any]


def drawer(
    request: Request, *, label: bool = False, setting_id: int | None = None, bar: bool = False
) -> Draw:
    """What draws sheets for this shop: `issue_sheet` takes it, and so do drafts.

    `label` puts every tag on a page of its own size; `bar` adds the ways back that only a screen
    shows, and never goes on what is issued.
    """
    base = request.state.shop.base_address or str(request.base_url).rstrip("/")

    def draw(session: Session, kind: SheetKind, job: Job, head: Head | None, issue: Issue) -> Drawn:
        heading = letterhead(session, job)
        sheets = _sheets(session, job, head)
        content = _CONTENT[kind](session, job, heading, sheets, setting_id)
        html = _html(
            session,
            f"sheets/{kind.value}.html",
            heading,
            issue,
            address=f"{base}{addresses.job(job.number)}",
            label=label,
            bar=bar,
            **content.drawn,
        )
        data = canonical({"kind": kind, "issue": issue, "figures": content.figures})
        return Drawn(html, data, style_sha256())

    return draw


def draft(
    request: Request, session: Session, kind: SheetKind, job: Job, head: Head | None, **ways: Any
) -> Response:
    """A sheet as it would be issued now, marked as a draft."""
    draw = drawer(request, bar=True, **ways)
    drawn = draw(session, kind, job, head, Issue(now(), request.state.person.name))
    return print_answer(drawn.html, drawn.style_sha256)


def blank_card(request: Request, session: Session, job: Job, head: Head) -> Response:
    """The card to write on when no tablet works: map, boxes, nothing filled in."""
    base = request.state.shop.base_address or str(request.base_url).rstrip("/")
    heading = letterhead(session, job)
    (sheet,) = _sheets(session, job, head)
    html = _html(
        session,
        "sheets/card.html",
        heading,
        Issue(now(), request.state.person.name),
        address=f"{base}{addresses.job(job.number)}",
        label=False,
        bar=True,
        head=heading.head(head.id),
        maps=_blank_maps(sheet),
        rows=[(rows.label, rows.position.name, rows.port.work) for rows in sheet.rows.ports],
    )
    return print_answer(html, style_sha256())


def print_answer(html: str, style_sha256: str) -> Response:
    """A page for paper: its one style is allowed by its hash, and nothing else is loaded."""
    answer = HTMLResponse(html)
    digest = base64.b64encode(bytes.fromhex(style_sha256)).decode("ascii")
    answer.headers["Content-Security-Policy"] = (
        f"default-src 'none'; style-src 'sha256-{digest}'; img-src 'self'; "
        "form-action 'none'; frame-ancestors 'none'; base-uri 'none'"
    )
    answer.headers["Cache-Control"] = "private, no-cache"
    return answer


@cache
def style() -> str:
    """The style of every sheet, as it goes into each of them."""
    return (folder("static") / "sheet.css").read_text(encoding="utf-8")


def style_sha256() -> str:
    """Its hash, in hex."""
    return hashlib.sha256(style().encode("utf-8")).hexdigest()


# What each kind holds


def _tag(
    _session: Session,
    _job: Job,
    heading: Letterhead,
    sheets: Sequence[HeadSheet],
    _setting_id: int | None,
) -> Content:
    heads = [heading.head(sheet.head.id) for sheet in sheets]
    return Content({"letterhead": heading, "heads": heads}, {"heads": heads})


def _set_up(
    session: Session,
    _job: Job,
    heading: Letterhead,
    sheets: Sequence[HeadSheet],
    setting_id: int | None,
) -> Content:
    found = set_up_sheet(session, heading, sheets, setting_id=setting_id)
    by_head = {sheet.head.id: sheet for sheet in sheets}
    return Content(found, {"view": found, "maps": _maps_of_pages(found, by_head)})


def _record(
    session: Session,
    job: Job,
    heading: Letterhead,
    sheets: Sequence[HeadSheet],
    _setting_id: int | None,
) -> Content:
    (sheet,) = sheets
    found = head_record(session, job, heading, sheet)
    scales = {
        one.label: _scale(one, heading.unit) for one in found.with_ring if one.fit is not None
    }
    return Content(found, {"view": found, "maps": _maps(sheet), "scales": scales})


_CONTENT = {SheetKind.TAG: _tag, SheetKind.SET_UP: _set_up, SheetKind.RECORD: _record}


def _sheets(session: Session, job: Job, head: Head | None) -> list[HeadSheet]:
    heads = (
        [head]
        if head is not None
        else session.exec(select(Head).where(Head.job_id == job.id).order_by(col(Head.nth))).all()
    )
    return list(load_sheets(session, heads).values())


def _maps(sheet: HeadSheet, only: Sequence[int] | None = None) -> list[HeadMap]:
    """The whole head: paper shows both halves of a long one."""
    first = map_of(sheet, only=only)
    if first is None:
        return []
    if first.other_half is None:
        return [first]
    halves = (map_of(sheet, only=only, half="first"), map_of(sheet, only=only, half="second"))
    return [half for half in halves if half is not None]


def _maps_of_pages(found: SetUpSheet, sheets: Mapping[int, HeadSheet]) -> list[list[HeadMap]]:
    maps = []
    for each in found.pages:
        sheet = sheets[each.head.id]
        named = {line.label for line in each.positions}
        only = [rows.port.id for rows in sheet.rows.ports if rows.label in named] or None
        maps.append(_maps(sheet, only=only))
    return maps


def _blank_maps(sheet: HeadSheet) -> list[HeadMap]:
    """The head with every ring still to come: arcs to ink in as the work goes on."""
    positions = [
        MapPosition(
            label=rows.label,
            port_id=rows.port.id,
            cylinder=rows.port.cylinder,
            kind=rows.port.kind.value,
            row=rows.port.row,
            work=rows.port.work.screen,
            stages=("to_come",) * 5,
        )
        for rows in sheet.rows.ports
    ]
    if not positions:
        return []
    end = sheet.head.numbered_from or "numbering end not stated"
    first = head_map(positions, end)
    if first.other_half is None:
        return [first]
    return [head_map(positions, end, half="first"), head_map(positions, end, half="second")]


def _scale(one: PositionRecord, unit: Unit) -> Any:
    assert one.fit is not None
    return interference_scale(
        least=one.fit.least,
        most=one.fit.most,
        measured=one.fit.value,
        possible_error=one.fit.uncertainty,
        unit=unit.value,
    )


# Words


def _html(
    session: Session,
    template: str,
    heading: Letterhead,
    issue: Issue,
    *,
    address: str,
    **context: Any,
) -> str:
    zone = zone_of(session)
    return render(
        template,
        {
            "style": style(),
            "letterhead": heading,
            "issue": issue,
            "unit": heading.unit.value,
            "other": OTHER[heading.unit].value,
            "both": partial(both, unit=heading.unit),
            "stamp": lambda moment: stamp(moment, zone),
            "dated": dated,
            "short_day": lambda day, moment: short_day(day, moment.astimezone(zone).year),
            "qr": qr_svg(address),
            "address": address,
            **context,
        },
    )


def both(length: Length, inch_places: int = 4, mm_places: int = 3, *, unit: Unit) -> str:
    """The same length in the other unit, named: for the small line under a figure."""
    other = OTHER[unit].value
    return f"{length.shown(other, inch_places, mm_places)} {other}"


def stamp(moment: datetime, zone: ZoneInfo) -> str:
    """A moment as it still reads years later: ``2 Mar 2026, 09:12``."""
    local = moment.astimezone(zone)
    return f"{dated(local.date(), with_day=False)}, {local:%H:%M}"


def dated(day: date, with_day: bool = True) -> str:
    """A day with its year: ``Monday 2 Mar 2026``."""
    told = f"{day.day} {MONTHS[day.month - 1]} {day.year}"
    return f"{DAYS[day.weekday()]} {told}" if with_day else told


def short_day(day: date, year: int) -> str:
    """A day as a tag has room for: ``Fri 27 Nov``, with its year when that is another."""
    told = f"{DAYS[day.weekday()][:3]} {day.day} {MONTHS[day.month - 1]}"
    return told if day.year == year else f"{told} {day.year}"
