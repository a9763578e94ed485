"""A ring set's page, gathered for its template: for a plain look, and for a form to be mended."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlmodel import Session
from starlette.requests import Request
from starlette.responses import Response

from app.calc.units import Length
from app.forms.base import Form, is_row_id
from app.forms.field_text import field_text
from app.forms.readings import GridForm, ReadWithForm
from app.models.ring import RingSet
from app.queries.gauges import Gauge, gauge_of
from app.queries.people import readers
from app.queries.ring_sets import (
    BoreGroup,
    RingSetView,
    quantity_headings,
    read_by,
    show_set,
)
from app.services.write import NotFound
from app.web import addresses
from app.web.deps import DatabaseDep
from app.web.fit_shown import fits_shown
from app.web.grids import Field, fields_of
from app.web.plan_page import about_job
from app.web.render import page
from app.workflow.grids import OTHER_RING
from app.workflow.kinds import Unit
from app.workflow.words import LabelMeans, counted, listed, sentence

SHOW, LIVE = "ring_sets/show.html", "ring_sets/_live.html"


@dataclass(frozen=True)
class ReadingForms:
    """The two halves of a sent grid: with what it was read, and the readings."""

    read_with: ReadWithForm
    grid: GridForm

    @property
    def raw(self) -> dict[str, str]:
        """As typed, for showing again."""
        return self.grid.raw

    @property
    def errors(self) -> dict[str, str]:
        """Of both."""
        return {**self.read_with.errors, **self.grid.errors}


@dataclass(frozen=True, slots=True)
class _ReadWith:
    """The gauge fields as they are shown."""

    instrument: str = ""
    zeroed_on: str = ""
    part_c: str = ""
    gauge_c: str = ""


def ring_set_page(
    request: Request,
    db: DatabaseDep,
    ring_set_id: int,
    status: int = 200,
    *,
    readings: ReadingForms | None = None,
    about: str = "",
    form: Form | None = None,
    template: str = SHOW,
) -> Response:
    """The page; `about` names which of its smaller forms was sent and is wrong."""
    raw = readings.raw if readings else {}
    more = further_places(raw) | {
        int(one) for one in request.query_params.getlist("more") if is_row_id(one)
    }
    with db.read() as session:
        ring_set = the_set(session, ring_set_id)
        view = show_set(session, ring_set, more=more)
        read_with = _ReadWith(**_read_with(view, raw))
        view = read_by(view, more, _gauge(session, view, read_with))
        people = readers(session)
    unit = view.unit.value
    job = view.job
    fields = _fields(view, readings)
    return page(
        request,
        template,
        status,
        nav="bench" if job else "shelf",
        view=view,
        ring_set=view.ring_set,
        job=job,
        unit=unit,
        about=about_job(job, list(view.heads), view.customer) if job else "",
        lead=_lead(view),
        headings=quantity_headings(),
        gauges=[(str(each.instrument.id), each.instrument.name) for each in view.gauges],
        readings=readings or _shown(view),
        readers=people,
        read_with=read_with,
        fields=fields,
        # What is wrong has the cursor first.
        waits="" if readings and readings.errors else _first_empty(fields),
        sent=about,
        form=form or Form.showing(),
        rings_words=_rings_words(view),
        fits=fits_shown(view.fits),
        label_words=_label_words(view),
        label_means=[
            (each.value, each.screen) for each in LabelMeans if each != LabelMeans.UNKNOWN
        ],
        back=f"/ring-sets/{ring_set_id}",
        plan=addresses.plan(job.number) if job else "",
        open=_open_links(view),
        kept=f"{counted(view.kept_count, 'reading')} kept",
        window_raw=_window_raw(view),
        counted=counted,
    )


def the_set(session: Session, ring_set_id: int) -> RingSet:
    """The set, or nothing there."""
    found = session.get(RingSet, ring_set_id)
    if found is None:
        raise NotFound("There is no such ring set.")
    return found


def further_places(raw: Mapping[str, str]) -> frozenset[int]:
    """Rings that were sent with more places than they are asked for."""
    asked = {(column.quantity.value, column.place) for column in OTHER_RING}
    found = set()
    for name in raw:
        quantity, _, rest = name.partition(".ring-")
        ring_id, _, place = rest.partition(".")
        if place and (quantity, place) not in asked and is_row_id(ring_id):
            found.add(int(ring_id))
    return frozenset(found)


def sent_gauge(session: Session, ring_set: RingSet, form: ReadWithForm) -> Gauge:
    """The instrument as it was sent."""
    return gauge_of(session, form.instrument_id, form.zeroed_on, ring_set.unit)


def _gauge(session: Session, view: RingSetView, shown: _ReadWith) -> Gauge:
    form = ReadWithForm({"instrument": shown.instrument, "zeroed_on": shown.zeroed_on}, view.unit)
    return sent_gauge(session, view.ring_set, form)


def _fields(view: RingSetView, readings: ReadingForms | None) -> dict[int, list[Field]]:
    """The fields of each ring, by its id."""
    form = readings.grid if readings else None
    return {
        line.row.ring.id: list(
            fields_of(
                line.cells,
                form,
                odd=frozenset(doubt.reading_id for doubt in line.row.doubts),
            )
        )
        for line in view.lines
    }


def _first_empty(fields: Mapping[int, list[Field]]) -> str:
    """The field that the next reading goes into."""
    empty = (field.cell.name for own in fields.values() for field in own if not field.text.strip())
    return next(empty, "")


def _shown(view: RingSetView) -> ReadingForms:
    raw = {cell.name: cell.shown for cell in view.cells}
    return ReadingForms(ReadWithForm({}, view.unit), GridForm(raw, ()))


def _read_with(view: RingSetView, raw: dict[str, str]) -> dict[str, str]:
    """What the last readings were read with, so that the next ones join them."""
    if raw:
        names = ("instrument", "zeroed_on", "part_c", "gauge_c")
        return {name: raw.get(name, "") for name in names}
    newest = next((line.row.readings.set for line in view.lines if line.row.readings.set), None)
    if newest is None:
        # One of another unit is never chosen unasked: plain figures would be read in its unit.
        likely = next((each for each in view.gauges if each.instrument.unit is view.unit), None)
        zeroed = likely.check if likely else None
        return {
            "instrument": str(likely.instrument.id) if likely else "",
            "zeroed_on": field_text(zeroed.master, view.unit) if zeroed else "",
        }
    return {
        "instrument": str(newest.with_instrument_id or ""),
        "zeroed_on": field_text(newest.zeroed_on, view.unit) if newest.zeroed_on else "",
        "part_c": "" if newest.part_temperature_c is None else f"{newest.part_temperature_c:g}",
        "gauge_c": "" if newest.gauge_temperature_c is None else f"{newest.gauge_temperature_c:g}",
    }


def _lead(view: RingSetView) -> str:
    rings = counted(len(view.working.rows), "ring")
    parts = [f"{rings} of one part number"]
    if view.targets:
        names = listed([target.name for target in view.targets])
        parts[0] += f" for {counted(len(view.targets), 'position')}, {names}"
    label = [
        length.shown(view.unit.value)
        for length in (view.ring_set.label_od, view.ring_set.label_height)
        if length is not None
    ]
    if label:
        parts.append(f"Box says {' × '.join(label)}")
    return ". ".join(parts) + "."


def _rings_words(view: RingSetView) -> list[str]:
    """Which rings may go where, as a machinist would say it."""
    words = [sentence(target.apart) for target in view.targets if target.apart]
    for group in view.groups:
        words += _group_words(group, view.unit.value)
    return list(dict.fromkeys(words))


def _group_words(group: BoreGroup, unit: str) -> list[str]:
    fit, window = group.fit, group.first.window
    if fit is None or window is None:
        return []
    least, most = window.least.shown(unit), window.most.shown(unit)
    bore = fit.bore.shown(unit, 5, 4)
    belong = [each for each in fit.fits if each.belongs]
    strangers = [each for each in fit.fits if not each.belongs]
    words = []
    if len(belong) == 1:
        grip = belong[0].interference.shown(unit, 5, 4)
        words.append(
            f"{group.names}: ring {belong[0].tag}, bore {bore}, gripped by {grip}, "
            f"window {least} to {most}."
        )
    elif belong:
        grips = sorted({each.interference for each in belong})
        by = grips[0].shown(unit, 5, 4)
        if len(grips) > 1:
            by = f"{by} to {grips[-1].shown(unit, 5, 4)}"
        words.append(
            f"Rings {listed([each.tag for each in belong])} may be mixed: at {bore} each is "
            f"gripped by {by}, window {least} to {most}."
        )
    words += [
        f"Ring {each.tag} does not belong: at {bore} it would have "
        f"{each.interference.shown(unit, 5, 4)}. Choose a position for it, or put it away."
        for each in strangers
    ]
    return words


def _label_words(view: RingSetView) -> str:
    """How the rings measure against their box."""
    question, unit = view.working.label, view.unit.value
    if question is None:
        return ""
    least, most = min(question.differences), max(question.differences)
    if least.shown(unit) == most.shown(unit):
        way = "over" if most.nm >= 0 else "under"
        return f"Measured {abs(most).shown(unit)} {way} the box."
    return f"Measured less the box: {least.shown(unit)} to {most.shown(unit)}."


def _open_links(view: RingSetView) -> list[str | tuple[str, str]]:
    found: list[str | tuple[str, str]] = []
    for words in view.open:
        if words == "choose its positions":
            found.append((words, "#positions"))
        elif words == "head material" and view.heads:
            found.append((words, f"/heads/{view.heads[0].id}/edit"))
        else:
            found.append(words)
    if view.label_question is not None:
        found.append(("what the box says", "#label"))
    return found


def _window_raw(view: RingSetView) -> dict[str, str]:
    target = view.groups[0].first if view.groups else None
    if target is None or target.window is None:
        return {}

    def text(length: Length, unit: Unit = view.unit) -> str:
        return field_text(length, unit)

    return {
        "least": text(target.window.least),
        "aim": text(target.window.aim),
        "most": text(target.window.most),
    }
