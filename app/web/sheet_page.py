"""Sheets on paper: drawn from the record, alike as a draft and as it is issued."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select
from starlette.requests import Request
from starlette.responses import Response

from app.calc.trace import canonical
from app.db import now
from app.models.head import Head
from app.models.job import Consent, Job, PriceLine
from app.pictures import file_of
from app.queries.customer_records import customer_record
from app.queries.head_records import head_record
from app.queries.papers import Issued
from app.queries.record_lines import PositionRecord
from app.queries.set_up_sheets import SetUpSheet, set_up_sheet
from app.queries.sheets import Issue, Letterhead, letterhead
from app.queries.shop_rules import current_rules
from app.services.owned import the_shop
from app.services.sheets import Draw, Drawn
from app.web import addresses
from app.web.deps import settings
from app.web.drawing import HeadMap, MapPosition, head_map, interference_scale
from app.web.maps import map_of
from app.web.paper import (
    OTHER,
    both,
    dated,
    print_answer,
    short_day,
    stamp,
    style,
    style_sha256,
)
from app.web.qr import qr_svg
from app.web.render import render
from app.workflow.kinds import SheetKind, Unit
from app.workflow.words import money
from app.worksheets.facts import HeadSheet, load_sheets


@dataclass(frozen=True, slots=True)
class Content:
    """What one kind of sheet holds: its figures, and what its template draws beside them."""

    figures: Any
    drawn: Mapping[str, Any]


def drawer(
    base: str,
    photos: Path | None = None,
    *,
    label: bool = False,
    copies: int = 1,
    setting_id: int | None = None,
    bar: bool = False,
) -> Draw:
    """What draws sheets: `issue_sheet` takes it, and so do drafts.

    `base` is where the code leads when the shop has not chosen its own address; `photos` is the
    folder of the pictures that go into the customer's record. `label` puts every
    tag on a page of its own size, `copies` says how many of each; `bar` adds the ways back that
    only a screen shows, and never goes on what is issued.
    """

    def draw(session: Session, kind: SheetKind, job: Job, head: Head | None, issue: Issue) -> Drawn:
        heading = letterhead(session, job)
        sheets = _sheets(session, job, head)
        content = _CONTENT[kind](session, job, heading, sheets, setting_id)
        html = _html(
            session,
            f"sheets/{kind.value}.html",
            heading,
            issue,
            base=base,
            label=label,
            copies=copies,
            bar=bar,
            picture=partial(_inlined, photos),
            **content.drawn,
        )
        data = canonical({"kind": kind, "issue": issue, "figures": content.figures})
        return Drawn(html, data, style_sha256())

    return draw


def base_of(request: Request) -> str:
    """The address that this request came to."""
    return str(request.base_url).rstrip("/")


def draft(
    request: Request, session: Session, kind: SheetKind, job: Job, head: Head | None, **ways: Any
) -> Response:
    """A sheet as it would be issued now, marked as a draft."""
    draw = drawer(base_of(request), settings(request).photos, bar=True, **ways)
    drawn = draw(session, kind, job, head, Issue(now(), request.state.person.name))
    return print_answer(drawn.html, drawn.style_sha256)


def covering_page(sheet: Issued, zone: ZoneInfo) -> str:
    """What stands before a superseded sheet; its own bytes follow, whole."""
    shown = {
        "style": style("cover"),
        "sheet": sheet,
        "number": sheet.number,
        "name": f"{sheet.kind.screen}, {sheet.head}" if sheet.head else sheet.kind.screen,
        "newest": sheet.later[-1],
        "later": sheet.later,
        "stamp": lambda moment: stamp(moment, zone),
        "dated": lambda moment: dated(moment.astimezone(zone).date(), with_day=False),
    }
    return render("sheets/superseded.html", shown)


def blank_card(request: Request, session: Session, job: Job, head: Head) -> Response:
    """The card to write on when no tablet works: map, boxes, nothing filled in."""
    heading = letterhead(session, job)
    (sheet,) = _sheets(session, job, head)
    html = _html(
        session,
        "sheets/card.html",
        heading,
        Issue(now(), request.state.person.name),
        base=base_of(request),
        label=False,
        bar=True,
        head=heading.head(head.id),
        maps=_blank_maps(sheet),
        rows=[(rows.label, rows.position.name, rows.port.work) for rows in sheet.rows.ports],
    )
    return print_answer(html, style_sha256())


def estimate_paper(request: Request, session: Session, job: Job) -> Response:
    """The price lines of a job: an estimate while it is open, the final list once it is over."""
    heading = letterhead(session, job)
    lines = session.exec(
        select(PriceLine)
        .where(PriceLine.job_id == job.id, col(PriceLine.voided_at).is_(None))
        .order_by(col(PriceLine.id))
    ).all()
    consent = session.exec(
        select(Consent).where(Consent.job_id == job.id).order_by(col(Consent.id).desc())
    ).first()
    shop = the_shop(session)
    html = _html(
        session,
        "sheets/estimate.html",
        heading,
        Issue(now(), request.state.person.name),
        base=base_of(request),
        bar=True,
        job=job,
        lines=lines,
        total=sum(line.amount for line in lines),
        consent=consent,
        money=money,
        currency=shop.currency,
        words=current_rules(session).text("estimate_words"),
    )
    return print_answer(html, style_sha256())


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


def _customer(
    session: Session,
    job: Job,
    heading: Letterhead,
    sheets: Sequence[HeadSheet],
    _setting_id: int | None,
) -> Content:
    (sheet,) = sheets
    found = customer_record(session, job, heading, sheet)
    return Content(found, {"view": found})


_CONTENT = {
    SheetKind.TAG: _tag,
    SheetKind.SET_UP: _set_up,
    SheetKind.RECORD: _record,
    SheetKind.CUSTOMER: _customer,
}


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


def _inlined(photos: Path | None, digest: str) -> str:
    """The small picture inside the sheet, so that it stays with it; empty when its file is gone."""
    file = file_of(photos, digest) if photos else None
    if file is None or not file.is_file():
        return ""
    return f"data:image/jpeg;base64,{base64.b64encode(file.read_bytes()).decode('ascii')}"


# Words


def _html(
    session: Session,
    template: str,
    heading: Letterhead,
    issue: Issue,
    *,
    base: str,
    **context: Any,
) -> str:
    shop = the_shop(session)
    zone = ZoneInfo(shop.zone)
    address = f"{shop.base_address or base}{addresses.job(heading.number)}"
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
            **context,
        },
    )
