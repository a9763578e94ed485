"""The setting plan, gathered for its template: for a plain look, and for a form to be mended."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from starlette.requests import Request
from starlette.responses import Response

from app.calc.units import Length
from app.forms.base import Form
from app.forms.settings import SettingForm
from app.models.crib import Fixture
from app.models.customer import Customer
from app.models.head import Head
from app.models.job import Job
from app.queries.crib import CutterLine
from app.queries.jobs import who_of
from app.queries.plans import CutterChoice, GroupView, PlanView, show_plan
from app.services.owned import the_job
from app.web import addresses
from app.web.days import today
from app.web.deps import DatabaseDep
from app.web.drawing import HeadMap
from app.web.maps import map_of
from app.web.render import page
from app.workflow.kinds import SettingState
from app.workflow.settings import PortName, told_by_head
from app.workflow.words import Page, counted, day_words, listed, metal_told, place_words
from app.worksheets.pilots import PilotFit
from app.worksheets.targets import PortTarget

CLOSEST = 6  # pilots shown before the rest is folded away

Choice = tuple[str, str, tuple[str, ...]]  # id, name, what is known of it, line by line


@dataclass(frozen=True)
class GroupOnPage:
    """One setting to make: its form, its maps and what may be chosen."""

    view: GroupView
    form: Form
    chosen: frozenset[int]
    is_open: bool
    maps: tuple[tuple[str, HeadMap], ...]
    cutters: tuple[Choice, ...]
    fixtures: tuple[Choice, ...]
    pilots: tuple[Choice, ...]
    other_pilots: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class NotReadyLine:
    """Positions that cannot be planned yet, for one reason, with where it is closed."""

    names: str
    why: str
    way: str  # what is to be done about it
    href: str


def plan_page(
    request: Request,
    db: DatabaseDep,
    number: str,
    form: SettingForm | None = None,
    status: int = 200,
) -> Response:
    """The plan; `form` is the one group's form that was sent and is wrong."""
    together = request.query_params.get("together") == "yes"
    with db.read() as session:
        view = show_plan(session, the_job(session, number), together=together)
    groups = [_group(request, view, group, form) for group in view.groups]
    return page(
        request,
        "plans/show.html",
        status,
        nav="bench",
        view=view,
        job=view.job,
        unit=view.job.unit.value,
        about=about_job(view.job, view.heads, view.customer),
        title=_title(view),
        groups=groups,
        lost=form if form is not None and not any(each.form is form for each in groups) else None,
        together=together,
        may_join=_may_join(view),
        here=addresses.plan(number),
        apart_or_together=addresses.plan(number, together=True),
        not_ready=_not_ready(view),
        impossible=[(each.name, _ring_set(view, each)) for each in view.plan.impossible],
        busy=_busy(view),
        is_over=view.job.ended_as is not None or view.job.voided_at is not None,
        action=f"/jobs/{number}/settings{'?together=yes' if together else ''}",
    )


def about_job(job: Job, heads: Sequence[Head], customer: Customer | None) -> str:
    """``Harrow Lane Farms · one head, grey iron, inch · rack 3``."""
    count = "one head" if len(heads) == 1 else counted(len(heads), "head")
    materials = list(
        dict.fromkeys(filter(None, (metal_told(h.material, h.heat_history) for h in heads)))
    )
    place = "" if job.ended_at else place_words(job.place)
    what = ", ".join(filter(None, [count, listed(materials), job.unit.screen]))
    return " · ".join(filter(None, [who_of(job, customer), what, place]))


def _title(view: PlanView) -> str:
    settings, rings = len(view.groups), sum(len(group.positions) for group in view.groups)
    if settings:
        serve = "serves" if settings == 1 else "serve"
        return f"{counted(settings, 'setting')} {serve} {counted(rings, 'seat ring')}"
    if view.plan.not_ready or view.plan.impossible:
        return "No setting can be planned yet"
    if view.plan.under_way:
        return "Every seat ring has its setting"
    return "No position of this job gets a seat ring"


def _group(
    request: Request, view: PlanView, group: GroupView, sent: SettingForm | None
) -> GroupOnPage:
    own = sent if sent is not None and set(sent.port_ids) & set(group.port_ids) else None
    # Nothing ticked belongs to the group whose button was pressed.
    if own is None and sent is not None and not sent.port_ids:
        own = sent if sent.raw.get("group") == str(group.nth) else None
    unit = view.job.unit.value
    pilots = [_pilot(fit, unit) for fit in group.pilots]
    close = [fit for fit in group.pilots if fit.is_close][:CLOSEST]
    fixtures = tuple(_fixture(each) for each in view.fixtures)
    cutters = tuple(_cutter(request, each, unit, len(group.positions)) for each in group.cutters)
    return GroupOnPage(
        view=group,
        form=own or Form.showing(_likely(view, cutters, fixtures, pilots[: len(close)])),
        chosen=frozenset(own.port_ids if own else group.port_ids),
        is_open=own is not None or (sent is None and len(view.groups) == 1),
        maps=tuple(_maps(view, group)),
        cutters=cutters,
        fixtures=fixtures,
        pilots=tuple(pilots[: len(close)]),
        other_pilots=tuple(pilots[len(close) :]),
    )


def _likely(
    view: PlanView,
    cutters: Sequence[Choice],
    fixtures: Sequence[Choice],
    pilots: Sequence[Choice],
) -> dict[str, object]:
    """What there is only one of, and the fixture and pilot that this job was set with last."""
    last = view.used_last
    return {
        "cutter": cutters[0][0] if len(cutters) == 1 else "",
        "fixture": fixtures[0][0] if len(fixtures) == 1 else (last and last.fixture_id) or "",
        "pilot": pilots[0][0] if len(pilots) == 1 else (last and last.pilot_id) or "",
    }


def _maps(view: PlanView, group: GroupView) -> list[tuple[str, HeadMap]]:
    found = []
    for sheet in view.sheets.values():
        own = [port_id for port_id in group.port_ids if port_id in sheet.targets]
        drawn = map_of(sheet, only=own) if own else None
        if drawn is not None:
            found.append((sheet.head.name if len(view.sheets) > 1 else "", drawn))
    return found


def _cutter(request: Request, choice: CutterChoice, unit: str, positions: int) -> Choice:
    cutter = choice.cutter
    told = []
    if choice.fixed_bore is not None:
        bore = choice.fixed_bore.shown(unit, 5, 4)
        every = len(choice.outside) == positions
        outside = "every window" if every else f"the window of {listed(choice.outside)}"
        told.append(f"fixed size, expected to bore {bore}")
        told.append(f"outside {outside}" if choice.outside else "inside every window")
    known = choice.overcut
    if known.count:
        told.append(
            f"cuts {known.overcut.shown(unit, 5, 4)} over its size, "
            f"mean of {counted(known.count, 'cut')}"
        )
    else:
        told.append("no cut of this tip known in this material")
    if choice.fixed_bore is None and known.little_known:
        told.append("first pass under size")
    told.append(_tip(request, choice.line))
    told.append(_set_at(choice.line, unit))
    return str(cutter.id), cutter.name, tuple(filter(None, told))


def _tip(request: Request, line: CutterLine) -> str:
    if line.tip is None:
        return ""
    since = line.tip.at.astimezone(ZoneInfo(request.state.shop.zone)).date()
    return f"tip {line.tip.what}, {day_words(since, today(request))}"


def _set_at(line: CutterLine, unit: str) -> str:
    now = line.set_at
    if now is None:
        return "not set for anything"
    verb = "set now at" if now.state is SettingState.LIVE else "was last set at"
    size = now.set_size.shown(unit)
    return f"{verb} {size} for {now.number}, {listed(now.positions)}"


def _fixture(fixture: Fixture) -> Choice:
    unit = fixture.unit.value
    division = fixture.division.shown(unit)
    words = f"reads {'the ' if fixture.mode.value != 'across_pilot' else ''}{fixture.mode.screen}"
    return str(fixture.id), fixture.name, (words, f"one division {division} {unit}")


def _pilot(fit: PilotFit, unit: str) -> Choice:
    pilot = fit.pilot
    sizes = _two(pilot.guide_diameter, pilot.shank_diameter, unit)
    return str(pilot.id), pilot.name, tuple(filter(None, [fit.told(unit), sizes]))


def _two(guide: Length, shank: Length, unit: str) -> str:
    return f"{guide.shown(unit)} in the guide, {shank.shown(unit)} at the tool"


def _may_join(view: PlanView) -> bool:
    """Intakes and exhausts could be planned together: both are there, in one material."""
    kinds = {
        (target.head.material, target.rows.port.kind)
        for group in view.groups
        for target in group.planned.targets
    }
    return any((material, "E") in kinds and (material, "I") in kinds for material, _ in kinds)


def _not_ready(view: PlanView) -> list[NotReadyLine]:
    lines: dict[tuple[str, str, str], list[PortTarget]] = {}
    for target in view.plan.not_ready:
        wanted = view.sheets[target.head.id].facts.port(target.label).wanted_ring
        why = f"its ring is {wanted}" if wanted else "; ".join(target.open)
        lines.setdefault((why, *_closed_at(view, target)), []).append(target)
    return [NotReadyLine(_together(own), *told) for told, own in lines.items()]


def _together(targets: Iterable[PortTarget]) -> str:
    """Their names, each head said once."""
    return told_by_head(
        PortName(target.label, target.name.removesuffix(target.label).strip()) for target in targets
    )


def _closed_at(view: PlanView, target: PortTarget) -> tuple[str, str]:
    """What is to be done, and where."""
    port = target.rows.port
    where, way = Page.RING_SET, "Read the rings" if port.ring_set_id else "Enter the rings"
    if target.head.material is None:
        where, way = Page.INTAKE, "Head material"
    href = addresses.of_page(where, view.job.number, target.head.id, port.id, port.ring_set_id)
    return way, href


def _ring_set(view: PlanView, target: PortTarget) -> str:
    port = target.rows.port
    return addresses.of_page(
        Page.RING_SET, view.job.number, target.head.id, port.id, port.ring_set_id
    )


@dataclass(frozen=True, slots=True)
class BusyLine:
    """Positions that need no planning now, and why."""

    names: str
    state: str
    href: str
    is_hold: bool = False


def _busy(view: PlanView) -> list[BusyLine]:
    """What is under way: by setting, and what is bored, in or on hold."""
    found: dict[tuple[str, str, bool], list[PortTarget]] = {}
    named = {rows.setting.id: rows for rows in view.settings}
    for target in view.plan.under_way:
        rows, number = target.rows, view.job.number
        facts = view.sheets[target.head.id].facts.port(target.label)
        key = ("ring in", addresses.job(number), False)
        if rows.ring_in is None and rows.hold is not None:
            key = ("on hold", f"/positions/{rows.port.id}/hold", True)
        elif rows.ring_in is None and facts.cut.is_closed_by_value:
            key = ("bored", f"/positions/{rows.port.id}/cut", False)
        elif rows.ring_in is None and rows.setting is not None and rows.setting.id in named:
            setting = named[rows.setting.id]
            state = setting.setting.state.screen
            key = (
                f"S-{setting.setting.id}, {setting.cutter.name}: {state}",
                addresses.setting(setting.setting.id),
                False,
            )
        found.setdefault(key, []).append(target)
    return [
        BusyLine(_together(own), state, href, hold) for (state, href, hold), own in found.items()
    ]
