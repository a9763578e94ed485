"""What every bench page shows: the head map as the head lies, the strip, the stages."""

from __future__ import annotations

from collections.abc import Callable, Collection

from starlette.requests import Request

from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job
from app.queries.jobs import who_of
from app.web import addresses
from app.web.drawing import HeadMap
from app.web.drawing.head_map import Half, Turn
from app.web.maps import map_of
from app.workflow.stages import stages_of
from app.workflow.words import Stage, metal_told, place_words
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows

STAGES = (Stage.INTAKE, Stage.MEASURE, Stage.SET, Stage.CUT, Stage.VERIFY)


def strip_words(job: Job, head: Head, customer: Customer | None) -> str:
    """``Harrow Lane Farms · left head, grey iron, inch · rack 3``."""
    name = f"{head.name} head" if head.name else "one head"  # several are always named
    material = metal_told(head.material, head.heat_history)
    about = ", ".join(filter(None, [name, material, job.unit.screen]))
    place = "" if job.ended_at else place_words(job.place)
    return " · ".join(filter(None, [who_of(job, customer), about, place]))


def bench_map(
    request: Request,
    sheet: HeadSheet,
    *,
    here: int | None,
    turned: int,
    href: Callable[[Port], str | None] | None = None,
    as_buttons: bool = False,
    only: Collection[int] | None = None,
) -> HeadMap | None:
    """The head as it lies; touching a position goes to what is next there."""
    half: Half | None = {"first": "first", "second": "second"}.get(  # type: ignore[assignment]
        request.query_params.get("half", "")
    )
    turns: dict[int, Turn] = {0: 0, 90: 90, 180: 180, 270: 270}
    return map_of(
        sheet,
        href=href or next_of(sheet),
        here=here,
        turned=turns.get(turned, 0),
        half=half,
        as_buttons=as_buttons,
        only=only,
    )


def next_of(sheet: HeadSheet) -> Callable[[Port], str | None]:
    """Where the next step of each position is taken."""
    at = stages_of(sheet.facts)
    number = sheet.rows.job.job.number

    def href(port: Port) -> str | None:
        step = at[port.label].next
        if step is None:
            return addresses.job(number)
        return addresses.of_page(step.page, number, sheet.head.id, port.id, port.ring_set_id)

    return href


def half_href(request: Request, shown: HeadMap | None) -> str:
    """The same page with the other half of a long head."""
    if shown is None or shown.other_half is None:
        return ""
    kept = {name: text for name, text in request.query_params.items() if name != "half"}
    return str(request.url.replace_query_params(**kept, half=shown.other_half))


def stage_states(sheet: HeadSheet, rows: PortRows) -> list[str]:
    """The five stages of a position, for the strip above its work."""
    at = stages_of(sheet.facts)[rows.label]
    return [(at.arc(stage) or "to_come") for stage in STAGES]


def position_words(port: Port, name: str = "") -> str:
    """``3E · cylinder 3 exhaust``; `name` where the label alone could be of another head."""
    return f"{name or port.label} · cylinder {port.cylinder} {port.kind.screen}"
