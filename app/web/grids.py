"""Grids of readings: every page keeps, shows and sends them in this one way.

A page keeps each reading as it is typed where scripts run, and all of them with its buttons where
they do not. Both arrive as the same form, which carries for every field the kept reading that the
page showed there, so that two tablets never write over each other unseen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from starlette.requests import Request

from app.forms.field_text import field_text
from app.forms.readings import Entry, GridForm, ReadWithForm
from app.models.base import Row
from app.models.reading import ReadingSet
from app.services.readings import Clashed, ReadWith
from app.services.write import Refused, Write
from app.web.deps import Sent, writing
from app.web.render import is_partial
from app.workflow.kept import Kept
from app.workflow.kinds import Unit
from app.workflow.words import counted
from app.worksheets.cells import Cell
from app.worksheets.readings import Readings


@dataclass(frozen=True, slots=True)
class Field:
    """One field as the page shows it. Fields of one `run` follow each other on Enter."""

    cell: Cell
    text: str
    had: str
    error: str = ""
    run: int = 0
    hint: str = ""
    is_odd: bool = False


@dataclass(frozen=True, slots=True)
class GridRow:
    """One subject of a grid: its fields, and what is worked out beside them."""

    key: str
    label: str
    small: str
    fields: tuple[Field | None, ...]
    worked: str = ""
    remark: str = ""
    aside: tuple[str, str] | None = None  # words, and a figure
    way: tuple[str, str, str] | None = None  # a column's heading, a link's words and address


@dataclass(frozen=True, slots=True)
class Group:
    """Rows that are asked the same."""

    headings: tuple[str, ...]
    rows: tuple[GridRow, ...]
    worked: str = ""
    title: str = ""
    unit: str = ""
    is_wide: bool = False  # remarks are long: they stand under their rows


def fields_of(
    cells: Iterable[Cell],
    form: GridForm | None,
    *,
    runs: Sequence[int] = (),
    hints: Sequence[str] = (),
    odd: frozenset[int] = frozenset(),
) -> tuple[Field, ...]:
    """Cells as the page shows them: as kept, or as they were typed and are to be mended."""
    return tuple(
        replace(
            _field(cell, form),
            run=runs[n] if runs else 0,
            hint=hints[n] if hints else "",
            is_odd=cell.current is not None and cell.current.id in odd,
        )
        for n, cell in enumerate(cells)
    )


def _field(cell: Cell, form: GridForm | None) -> Field:
    """What stands in a field, and which kept reading it claims to show.

    After a sending a field only claims the newest reading when it shows its very text, or when a
    clash was just told there: else the next sending would write over what nobody here has seen.
    """
    kept = str(cell.current.id) if cell.current else ""
    if form is None or cell.name not in form.raw:
        return Field(cell, cell.shown, kept)
    typed = form.raw[cell.name]
    error = form.errors.get(cell.name, "")
    had = form.raw.get(cell.had_name, "")
    if cell.shows(typed.strip()) or cell.name in form.clashes:
        had = kept
    return Field(cell, typed, had, error)


@dataclass
class Keeping:
    """A grid as it was sent."""

    form: GridForm
    read_with: ReadWithForm | None = None
    status: int = 200
    kept: list[Entry] = field(default_factory=list)


def keep(
    request: Request,
    sent: Sent,
    form: GridForm,
    read_with: ReadWithForm | None,
    change: Callable[[Write, list[Entry], ReadWith], Row],
    *,
    method: str = "",
    also: bool = False,
) -> Keeping:
    """Keep what was typed anew; without anything new (`also`: nor anything else) write nothing."""
    done = Keeping(form, read_with)
    new = typed_anew(form)
    if read_with is not None:
        if new:
            read_with.need_all()
        form.errors |= read_with.errors
    if not form.ok:
        done.status = 422
        # Kept as they are typed, one slip does not hold up the others; a page that is sent whole
        # comes back whole.
        if not is_partial(request) or (read_with is not None and not read_with.ok):
            return done
    # A page that keeps each reading as it is typed sends the same form with more in it.
    once = Sent(sent.fields, sent.lists, f"{sent.client_key[:40]}{sent.sha256[:16]}", sent.sha256)
    while new or also:
        try:
            with writing(request, once) as tx:
                change(tx, new, with_what(read_with, method))
            break
        except Refused as no:
            form.wrong(no.field or "form", no.message)
            if isinstance(no, Clashed):
                form.clashes[no.field] = no.clash
            others = [each for each in new if each.cell.name != no.field]
            done.status = 422 if no.field else 409
            if not is_partial(request) or len(others) == len(new):
                return done
            new = others
    form.settle()
    done.kept = new
    return done


def typed_anew(form: GridForm) -> list[Entry]:
    """What does not stand in the record as it was sent."""
    return [each for each in form.entries if each.typed != _kept_text(each.cell)]


def _kept_text(cell: Cell) -> str:
    return cell.current.typed if cell.current else ""


def with_what(form: ReadWithForm | None, method: str = "") -> ReadWith:
    """How the readings of a form were taken."""
    if form is None:
        return ReadWith(method=method)
    return ReadWith(
        form.instrument_id,
        form.zeroed_on,
        form.part_c,
        form.gauge_c,
        method,
        form.earlier,
        form.typed_by_id,
    )


def read_with_as_kept(last: ReadingSet | None, unit: Unit) -> dict[str, object]:
    """The gauge fields as the newest readings were taken."""
    if last is None:
        return {}
    return {
        "instrument": last.with_instrument_id,
        "zeroed_on": field_text(last.zeroed_on, unit),
        "part_c": "" if last.part_temperature_c is None else f"{last.part_temperature_c:g}",
        "gauge_c": "" if last.gauge_temperature_c is None else f"{last.gauge_temperature_c:g}",
    }


def kept_words(readings: Iterable[Readings | None], when: Callable[[datetime], str]) -> str:
    """``13 readings kept · 09:42``."""
    found = [kept for each in readings if each is not None for kept in each.counting]
    if not found:
        return "nothing read yet"
    newest = max(kept.kept_at for kept in found)
    return f"{counted(len(found), 'reading')} kept · {when(newest)}"


@dataclass(frozen=True, slots=True)
class OnRecord:
    """One reading in the list of all that were taken, struck ones too."""

    kept: Kept
    about: str
    heading: str


def on_record(rows: Iterable[tuple[str, Readings | None]]) -> list[OnRecord]:
    """Every reading with what it was read on, newest first."""
    found = [
        OnRecord(kept, about, _where(kept)) for about, each in rows if each for kept in each.all
    ]
    return sorted(found, key=lambda one: one.kept.id, reverse=True)


def _where(kept: Kept) -> str:
    if kept.place == "1":
        return kept.quantity.screen
    place = f"place {kept.place}" if kept.place.isdigit() else kept.place.replace("-", ", ")
    return f"{kept.quantity.screen}, {place}"
