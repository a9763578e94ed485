"""The machinist's home, gathered for its template."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from app.db import now
from app.forms.shop_temperature import ShopTemperatureForm
from app.models.head import Port
from app.queries.bench import Bench, BenchHead, bench
from app.queries.bench_cutters import SetCutter
from app.queries.bench_steps import BenchStep
from app.queries.handed_on import handed_on
from app.queries.opened import OpenedAndLeft
from app.queries.shop_rules import current_rules
from app.queries.shop_temperature import shop_temperature
from app.queries.stage_times import rates_now
from app.web import addresses
from app.web.days import today
from app.web.deps import DatabaseDep
from app.web.drawing import HeadMap
from app.web.maps import map_of
from app.web.render import page
from app.web.setting_page import read_out
from app.workflow.planning import Rate, work_left
from app.workflow.settings import told_by_head
from app.workflow.words import Page, WorkStage, counted, listed, place_words, sentence

MOST_LABELS = 4


@dataclass(frozen=True, slots=True)
class Way:
    """One thing to do, and where."""

    words: str
    href: str
    is_hold: bool


@dataclass(frozen=True)
class HeadOnBench:
    """One head with its map and its ways on."""

    view: BenchHead
    title: str
    map: HeadMap | None
    ways: tuple[Way, ...]
    place: str
    left: str  # work that is left on it, in words


def bench_home(
    request: Request,
    db: DatabaseDep,
    form: ShopTemperatureForm | None = None,
    status: int = 200,
) -> Response:
    """The page, for the person signed in; `form` is a temperature that is to be mended."""
    day = today(request)
    with db.read() as session:
        view = bench(session, person_id=request.state.person.id, at=now(), today=day)
        temperature = shop_temperature(session)
        notes = handed_on(session)
        minutes = rates_now(session, current_rules(session))
    return page(
        request,
        "bench/show.html",
        status,
        nav="bench",
        view=view,
        title=_title(view),
        lead=_lead(view),
        heads=[_head(each, minutes) for each in view.heads],
        notes=notes,
        told_late=_told_late(view),
        others=[_other(each) for each in view.others],
        holds=[_hold(head, port) for head, port in view.holds],
        left_of=lambda cutter: told_by_head(cutter.left),
        set_at=_set_at,
        cutter_words=_cutter_words,
        opened_words=_opened_words,
        cut_address=addresses.cut,
        temperature=temperature,
        form=form or ShopTemperatureForm.showing(),
    )


def _title(view: Bench) -> str:
    waits = sum(head.is_held_up for head in view.heads)
    heads = len(view.heads) - waits
    can = f"{counted(heads, 'head')} can be worked on now" if heads else ""
    wait = f"{counted(waits, 'head')} {'waits' if waits == 1 else 'wait'}" if waits else ""
    return ", ".join(filter(None, [can or "Nothing to do at the bench now", wait]))


def _lead(view: Bench) -> str:
    told = [f"{_named(head, port)} of {head.job.number} is on hold" for head, port in view.holds]
    live = [cutter for cutter in view.cutters if cutter.is_live]
    if live:
        told.append(f"{counted(len(live), 'cutter')} set and ready to cut")
    return " ".join(sentence(each) for each in told)


def _told_late(view: Bench) -> str:
    """``2 promises late``: heads of one job are one promise."""
    late = {head.job.id for head in (*view.heads, *view.others) if head.days_late}
    return f"{counted(len(late), 'promise')} late" if late else ""


def _named(view: BenchHead, port: Port) -> str:
    return f"{view.head.name} {port.label}" if view.name else port.label


@dataclass(frozen=True, slots=True)
class HoldLine:
    """A position that stands still, and why."""

    name: str
    number: str
    why: str
    href: str


def _hold(view: BenchHead, port: Port) -> HoldLine:
    hold = view.sheet.facts.port(port.label).hold
    return HoldLine(
        _named(view, port),
        view.job.number,
        hold.told if hold else "",
        f"/positions/{port.id}/hold",
    )


def _head(view: BenchHead, minutes: Mapping[WorkStage, Rate]) -> HeadOnBench:
    ways = tuple(Way(_words(step), _href(view, step), step.is_hold) for step in view.steps)
    return HeadOnBench(
        view=view,
        title=f"{view.who}{f', {view.name}' if view.name else ''}",
        map=map_of(view.sheet, href=_position_href(view)),
        ways=ways,
        place=place_words(view.job.place),
        left=work_left([view.sheet.facts], minutes).told,
    )


def _words(step: BenchStep) -> str:
    """``2E and 3E: cut and gauge``."""
    labels = list(step.labels)
    named = counted(len(labels), "position") if len(labels) > MOST_LABELS else listed(labels)
    return f"{named}: {step.words}"


def _href(view: BenchHead, step: BenchStep) -> str:
    port = step.ports[0]
    if step.setting_id is not None:
        return addresses.setting(step.setting_id)
    if step.clamp_first:
        return addresses.clamp_up(view.head.id)
    if step.page is Page.RING_IN and len(step.ports) > 1:
        return addresses.of_page(Page.RINGS_IN, view.job.number, view.head.id)
    return addresses.of_page(step.page, view.job.number, view.head.id, port.id, port.ring_set_id)


def _position_href(view: BenchHead) -> Callable[[Port], str | None]:
    """Touching a position goes where its own next step is taken."""
    ways = {port.id: _href_of(view, step, port) for step in view.steps for port in step.ports}
    return lambda port: ways.get(port.id)


def _href_of(view: BenchHead, step: BenchStep, port: Port) -> str:
    if step.setting_id is not None or step.clamp_first:
        return _href(view, step)
    return addresses.of_page(step.page, view.job.number, view.head.id, port.id, port.ring_set_id)


@dataclass(frozen=True, slots=True)
class OtherLine:
    """A head with nothing to do at the bench, and what it waits for."""

    number: str
    title: str
    waits: str
    href: str
    measure_href: str


def _other(view: BenchHead) -> OtherLine:
    job = view.job
    waits = listed(list(view.waits)[:2])
    if not waits:
        waits = view.progress
    waits = view.waits_for or waits
    return OtherLine(
        number=job.number,
        title=f"{view.who}{f', {view.name}' if view.name else ''}",
        waits=waits,
        href=addresses.job(job.number),
        measure_href=f"/heads/{view.head.id}/stem-heights" if _may_measure(view) else "",
    )


def _may_measure(view: BenchHead) -> bool:
    """Stems can be read while the counter has something to close."""
    return bool(view.waits) and any(
        rows.stems is None or not rows.stems.counting for rows in view.sheet.rows.ports
    )


def _set_at(cutter: SetCutter) -> str:
    """What the fixture was to read, or the size of a fixed cutter."""
    setting, fixture = cutter.rows.setting, cutter.rows.fixture
    if setting.reading is not None and fixture is not None:
        return f"{read_out(setting.reading, fixture.unit.value)} {fixture.mode.screen}"
    unit = fixture.unit.value if fixture else "in"
    return setting.set_size.shown(unit)


def _cutter_words(cutter: SetCutter) -> str:
    """Where it stands, for these hands."""
    setting = cutter.rows.setting
    if cutter.is_live:
        return "set and read"
    if cutter.rows.made_again_because:
        return f"make it again: {cutter.rows.made_again_because}"
    if cutter.standing is not None and setting.state.value == "live":
        return cutter.standing.told.removesuffix(".").lower()
    if setting.lapsed_because:
        return f"set it anew: {setting.lapsed_because.removesuffix('.')}"
    return setting.state.screen


def _opened_words(opened: OpenedAndLeft, clock: str) -> str:
    who = "You" if opened.is_own else opened.by
    return f"{who} opened {opened.name} of {opened.number} at {clock}: was it cut?"
