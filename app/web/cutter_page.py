"""A cutter's page, gathered for its template: what it is, its tips, and its overcut drawn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.crib import CutterForm, TipForm
from app.forms.field_text import field_text
from app.models.crib import Cutter
from app.queries.overcut import MaterialRecord, TipRecord
from app.queries.tools import find_tool, show_cutter
from app.services.crib import NOT_THERE
from app.services.write import NotFound
from app.web.days import today
from app.web.drawing.overcut_chart import (
    ChartCut,
    ChartSign,
    ChartTip,
    OvercutChart,
    overcut_chart,
)
from app.web.render import page, when_words
from app.workflow.kinds import Unit
from app.workflow.overcut_advice import sign_words

MOST_OF_OLDER = 60  # cuts of older tips in one drawing
When = Callable[[datetime], str]


@dataclass(frozen=True, slots=True)
class MaterialPart:
    """One head material on the page."""

    record: MaterialRecord
    chart: OvercutChart | None
    older_chart: OvercutChart | None


def cutter_page(
    request: Request,
    db: Database,
    cutter_id: int | None,
    status: int = 200,
    *,
    form: CutterForm | None = None,
    tip_form: TipForm | None = None,
) -> Response:
    """The page of one cutter, or of one that is new to the crib."""
    unit = request.state.shop.unit
    with db.read() as session:
        cutter = None if cutter_id is None else find_tool(session, Cutter, cutter_id)
        if cutter is None and cutter_id is not None:
            raise NotFound(NOT_THERE)
        view = show_cutter(session, cutter, unit.value) if cutter else None
        return page(
            request,
            "crib/cutter.html",
            status,
            nav="crib",
            tool=cutter,
            form=form or CutterForm.showing(_known(cutter, unit)),
            tip_form=tip_form or TipForm.showing(),
            view=view,
            materials=[_part(each, _when(request)) for each in view.records] if view else [],
        )


def _part(record: MaterialRecord, when: When) -> MaterialPart:
    about = f"Overcut in {record.material.screen}"
    chart = None
    if record.now is not None:
        chart = overcut_chart(
            tips=[_tip(record.now, when)],
            dead_band=record.now.dead_band,
            unit=record.unit,
            about=about,
        )
    return MaterialPart(record, chart, _older(record.older, record.unit, when, about))


def _older(older: Sequence[TipRecord], unit: str, when: When, about: str) -> OvercutChart | None:
    """The newest of them, in the order they were in the cutter."""
    tips: list[ChartTip] = []
    left = MOST_OF_OLDER
    for record in older:
        if len(record.cuts) > left:
            break
        tips.insert(0, _tip(record, when))
        left -= len(record.cuts)
    if not tips:
        return None
    return overcut_chart(
        tips=tips, dead_band=older[0].dead_band, unit=unit, about=f"{about}, older tips"
    )


def _tip(record: TipRecord, when: When) -> ChartTip:
    place = {cut.nth: at for at, cut in enumerate(record.cuts) if cut.nth is not None}
    first_nth = min(place, default=1)
    chart = record.learned.chart if record.learned else None
    changed = record.tip is not None and not record.not_drawn
    return ChartTip(
        cuts=tuple(
            ChartCut(
                value=cut.value,
                nth=cut.nth,
                label=cut.label,
                words=", ".join(
                    [
                        f"cut {cut.nth}" if cut.nth else f"left out ({cut.left_out})",
                        f"{cut.number} {cut.where}",
                        when(cut.at),
                        cut.overcut,
                        *cut.signs,
                    ]
                ),
                is_sign=bool(cut.signs),
            )
            for cut in record.cuts
        ),
        mean=record.learned.mean if record.learned else None,
        low=chart.low if chart else None,
        high=chart.high if chart else None,
        signs=tuple(
            ChartSign(
                first=place[max(sign.first + 1, first_nth)],
                last=place[sign.last + 1],
                words=sign_words(sign),
            )
            for sign in record.signs.signs
            if sign.last + 1 in place
        ),
        change=f"tip changed: {record.tip.what[:40]}" if changed and record.tip else "",
    )


def _when(request: Request) -> When:
    zone, day = ZoneInfo(request.state.shop.zone), today(request)
    return lambda moment: when_words(moment, zone, day)


def _known(cutter: Cutter | None, unit: Unit) -> dict[str, str]:
    if cutter is None:
        return {}
    return {
        "name": cutter.name,
        "kind": cutter.kind.value,
        "fixed_size": field_text(cutter.fixed_size, unit),
        "corner_radius": field_text(cutter.corner_radius, unit),
        "note": cutter.note,
        "row_version": str(cutter.row_version),
    }
