"""The cut page, gathered for its template: for a plain look, and for a form to be mended."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from app.db import now
from app.forms.base import Form
from app.forms.readings import GridForm, ReadWithForm
from app.models.customer import Customer
from app.models.head import Port
from app.queries.cuts import CutView, cut_view
from app.queries.people import readers
from app.services.owned import the_port
from app.web.bench_page import (
    bench_map,
    half_href,
    next_of,
    position_words,
    stage_states,
    strip_words,
)
from app.web.deps import LARGEST_ID, DatabaseDep
from app.web.drawing import interference_scale
from app.web.fit_shown import fit_shown
from app.web.grids import fields_of
from app.web.places import places_of
from app.web.render import asks_beside, page
from app.workflow.kinds import Verdict
from app.workflow.verdicts import Decision
from app.workflow.words import sentence
from app.worksheets.shown_verdicts import ShownVerdict, frozen_verdict, live_verdict

PAGE, JUDGED = "cuts/show.html", "cuts/_judged.html"
GAUGED = ("gauging", "first_pass")
FROZEN = ("proved", "ring_in")


def cut_page(
    request: Request,
    db: DatabaseDep,
    port_id: int,
    form: Form | None = None,
    status: int = 200,
    *,
    read_with: ReadWithForm | None = None,
    setting_id: int | None = None,
    template: str = PAGE,
) -> Response:
    """The face of the page that its position is at; `form` carries what was typed and is wrong."""
    with db.read() as session:
        found = the_port(session, port_id)
        view = cut_view(
            session,
            found,
            person_id=request.state.person.id,
            at=now(),
            setting_id=setting_id or asked_setting(request),
        )
        customer = session.get(Customer, view.job.customer_id) if view.job.customer_id else None
        people = readers(session)
    if asks_beside(request) and view.state in GAUGED:
        template = JUDGED
    shown = form or Form.showing()
    typed_here = form if isinstance(form, GridForm) else None
    in_doubt = {doubt.reading_id for doubt in view.proof.doubts} if view.proof else set()
    drawn = _map(request, view)
    verdict = _verdict(view)
    return page(
        request,
        template,
        status,
        nav="bench",
        view=view,
        who=strip_words(view.job, view.head, customer),
        title=position_words(view.port, view.name),
        map=drawn,
        half_href=half_href(request, drawn),
        asks_touch=_asks_touch(view),
        stages=stage_states(view.sheet, view.rows),
        form=shown,
        carried=fields_of((*view.cells, *view.lower), typed_here),
        typed=_typed(view, shown),
        read_with=read_with or ReadWithForm.showing(_gauge_as_kept(view)),
        scale=_scale(view, verdict),
        say=_say(view, verdict),
        verdict=verdict,
        detail=_detail(view),
        stop_steps=_stop_steps(view),
        shut=places_of(view.shut, view.sheet, view.job.number),
        labels={cell.name: cell.column.heading for cell in (*view.cells, *view.lower)},
        in_doubt=in_doubt,
        instruments=[(each.id, each.name) for each in view.instruments],
        readers=people,
        plan=f"/jobs/{view.job.number}/plan",
        onward=onward(view),
        fit=fit_shown(view.fit) if view.fit else None,
    )


def asked_setting(request: Request) -> int | None:
    """The setting that the machinist came with, from the address."""
    text = request.query_params.get("setting", "")
    plain = text.isascii() and text.isdigit() and len(text) <= 10
    return int(text) if plain and 0 < int(text) <= LARGEST_ID else None


def cut_address(port_id: int, setting_id: int | None = None) -> str:
    """The cut page of a position, with the setting that is in the cutter."""
    base = f"/positions/{port_id}/cut"
    return f"{base}?setting={setting_id}" if setting_id else base


def onward(view: CutView) -> tuple[str, str]:
    """Where one goes from a proved bore: words and address."""
    setting = view.setting
    if setting is not None and setting.next is not None:
        following = setting.next
        if following.head.id == view.head.id:
            return f"Next: {following.label}", cut_address(following.port.id, setting.id)
        name = following.head.name or f"head {following.head.nth}"
        return f"Next: {following.label} on {name}", cut_address(following.port.id, setting.id)
    return "Next: rings in", f"/heads/{view.head.id}/rings-in"


def _asks_touch(view: CutView) -> bool:
    return view.state == "ready" and view.confirm is not None


def _map(request: Request, view: CutView) -> Any:
    setting = view.setting
    named = {each.port.id for each in setting.rows.ports} if setting else set()
    elsewhere = next_of(view.sheet)

    def href(port: Port) -> str | None:
        if setting is not None and port.id in named:
            return cut_address(port.id, setting.id)
        return elsewhere(port)

    return bench_map(
        request,
        view.sheet,
        here=view.port.id,
        turned=view.turned,
        href=href,
        as_buttons=_asks_touch(view),
    )


def _typed(view: CutView, form: Form) -> Mapping[str, str]:
    """What stands in the fields: as typed, else as kept."""
    cells = (*view.cells, *view.lower)
    if any(cell.name in form.raw for cell in cells):
        return form.raw
    return {cell.name: cell.shown for cell in cells}


def _gauge_as_kept(view: CutView) -> dict[str, object]:
    found = view.read_with
    if found is None:
        return {}
    zeroed = found.zeroed_on
    return {
        "instrument": found.with_instrument_id,
        "zeroed_on": "" if zeroed is None else zeroed.shown(view.unit, 4, 3),
        "part_c": "" if found.part_temperature_c is None else f"{found.part_temperature_c:g}",
        "gauge_c": "" if found.gauge_temperature_c is None else f"{found.gauge_temperature_c:g}",
    }


def _verdict(view: CutView) -> ShownVerdict | None:
    """What was accepted is shown as it was, with the error that its instruments had then."""
    kept = frozen_verdict(view.sheet, view.rows) if view.state in FROZEN else None
    return kept or live_verdict(view.proof)


def _scale(view: CutView, verdict: ShownVerdict | None) -> Any:
    port_pass = view.rows.port_pass
    if port_pass is None or view.proof is None:
        return None
    return interference_scale(
        least=port_pass.rule_least,
        most=port_pass.rule_most,
        measured=verdict.interference if verdict else None,
        possible_error=verdict.uncertainty if verdict else None,
        unit=view.unit,
    )


def _say(view: CutView, verdict: ShownVerdict | None) -> str:
    """The verdict in words, with what is still wanted."""
    proof = view.proof
    if proof is None or verdict is None:
        return ""
    if view.state in FROZEN and frozen_verdict(view.sheet, view.rows) is not None:
        return _so_far(verdict)
    if proof.judgement is not None and proof.judgement.decision is Decision.GO_ON:
        return "Clear of both limits by these readings."
    if proof.judgement is not None:
        return proof.judgement.told
    wanted = sentence(f"still wanted: {', '.join(proof.open)}") if proof.open else ""
    return f"{_so_far(verdict)} {wanted}".strip()


def _detail(view: CutView) -> str:
    """The figures of a verdict that goes on: fit, shape, depth."""
    proof = view.proof
    judgement = proof.judgement if proof else None
    if judgement is None or judgement.decision is not Decision.GO_ON:
        return ""
    return judgement.told


def _so_far(got: ShownVerdict) -> str:
    verdict = got.verdict
    if verdict in (Verdict.LOOSE, Verdict.TIGHT):
        return f"{sentence(verdict.screen).removesuffix('.')} by these readings."
    if got.close_to_edge or verdict is Verdict.DOUBTFUL:
        return "Inside, close to an edge by these readings."
    return "Clear of both limits by these readings."


def _stop_steps(view: CutView) -> list[Any]:
    """The working down to the stop; what comes after it is about travel, said in words."""
    if view.stop is None or view.stop.stop is None:
        return []
    steps = list(view.stop.stop.working)
    last = next(n for n, step in enumerate(steps) if step.symbol == "stop")
    return steps[: last + 1]
