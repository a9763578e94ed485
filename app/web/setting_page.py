"""A setting's page, gathered for its template: for a plain look, and for a form to be mended."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from app.calc.units import Length
from app.db import now
from app.forms.base import Form
from app.queries.settings import Fit, PositionState, SettingPosition, SettingView, show_setting
from app.services.write import NotFound
from app.web import addresses
from app.web.deps import DatabaseDep
from app.web.drawing import HeadMap
from app.web.fit_shown import fits_shown
from app.web.maps import map_of
from app.web.plan_page import about_job
from app.web.render import page
from app.workflow.kinds import SettingState
from app.workflow.settings import told_by_head
from app.workflow.words import sentence
from app.worksheets.settings import RE_READ

READ_FIELD = "#r-achieved"


@dataclass(frozen=True, slots=True)
class NextButton:
    """The one button of the page; with `open` it greys and says why."""

    words: str
    href: str = ""
    open: tuple[tuple[str, str], ...] = ()


def setting_page(
    request: Request,
    db: DatabaseDep,
    setting_id: int,
    form: Form | None = None,
    status: int = 200,
    *,
    end_form: Form | None = None,
) -> Response:
    """The page as it stands for the person signed in."""
    with db.read() as session:
        view = show_setting(session, setting_id, person_id=request.state.person.id, at=now())
    if view is None:
        raise NotFound("There is no such setting.")
    read_unit = view.read_unit.value
    return page(
        request,
        "settings/show.html",
        status,
        nav="bench",
        view=view,
        job=view.job,
        setting=view.rows.setting,
        unit=view.job.unit.value,
        read_unit=read_unit,
        about=about_job(view.job, [sheet.head for sheet in view.sheets.values()], view.customer),
        title=_title(view),
        lead=_lead(view),
        state=_state(view),
        next=_next(view),
        maps=_maps(view),
        fits=fits_shown(view.fits),
        tone=_tone,
        form=form or Form.showing(),
        end_form=end_form or Form.showing(),
        may_read=_may_read(view),
        may_end=view.rows.setting.state is not SettingState.ENDED and not _is_over(view),
        is_re_read=lambda read: read.adjustment.why == RE_READ,
        plan=addresses.plan(view.job.number),
        read_out=lambda length: read_out(length, read_unit),
        overcut=_overcut(view),
        overcut_from=sentence(view.rows.setting.overcut_source.removeprefix("overcut, ")),
    )


def read_out(length: Length, unit: str) -> str:
    """A fixture's reading with as many digits as its divisions have, and never fewer than usual."""
    least = 4 if unit == "in" else 3
    whole, _, digits = length.shown(unit, 8, 6).partition(".")
    return f"{whole}.{digits.rstrip('0').ljust(least, '0')}"


def _overcut(view: SettingView) -> str:
    """With as many digits as the working shows, so that the page subtracts."""
    shown = next((step.value for step in view.working if step.symbol == "k"), None)
    return shown or view.rows.setting.overcut.shown(view.job.unit.value, 5, 4)


def _title(view: SettingView) -> str:
    names = told_by_head(each.called for each in view.left)
    cutter = view.rows.cutter.name
    if view.rows.setting.state is SettingState.ENDED:
        return f"{view.name} is over"
    if view.rows.made_again_because:
        return f"{view.name} no longer stands"
    if not names:
        return f"{view.name}: every position is bored"
    if view.rows.setting.mode is None:
        return f"{cutter} for {names}"
    if view.is_live:
        return f"{cutter} is set for {names}"
    if view.rows.setting.state is SettingState.LIVE and view.standing is not None:
        verb = "Read" if view.standing.needs_only_reading else "Set"
        return f"{verb} {cutter} again for {names}"
    return f"Set {cutter} for {names}"


def _lead(view: SettingView) -> str:
    rows = view.rows
    fixture = f"on {rows.fixture.name}" if rows.fixture else "fixed size"
    pilot = f"with {rows.pilot.name}" if rows.pilot else ""
    return " ".join(filter(None, [f"{view.name}: {rows.cutter.name} {fixture}", pilot]))


def _state(view: SettingView) -> tuple[str, str]:
    """Words and tone of where the setting stands, for these hands."""
    rows, setting = view.rows, view.rows.setting
    if setting.state is SettingState.ENDED:
        return sentence(f"over: {setting.lapsed_because}"), "plain"
    if rows.made_again_because:
        return sentence(f"its size no longer stands: {rows.made_again_because}"), "look"
    if setting.state is SettingState.LAPSED:
        return f"Set the cutter anew: {setting.lapsed_because}.", "look"
    if setting.state is SettingState.READY:
        if setting.lapsed_because:
            return setting.lapsed_because, "look"
        if view.is_read and view.left:
            return "No position keeps its window at that reading: set it nearer.", "look"
        return "", "plain"
    if view.standing is not None and not view.standing.is_live:
        return view.standing.told, "look"
    return view.checked.told if view.checked is not None else "", "plain"


def _next(view: SettingView) -> NextButton:
    number, setting = view.job.number, view.rows.setting
    if _is_over(view):
        return NextButton("The job", addresses.job(number))
    if view.rows.made_again_because and view.left:
        return NextButton("Make the setting again", addresses.plan(number))
    if setting.state is SettingState.ENDED:
        return NextButton("Back to the plan", addresses.plan(number))
    if not view.left:
        return NextButton("Next: rings in", f"/heads/{view.positions[0].named.head.id}/rings-in")
    target = view.next
    if not view.is_live:
        words = f"Next: {view.left[0].name}"
        if setting.state is SettingState.LIVE and view.standing is not None:
            return NextButton(words, open=((view.standing.told.removesuffix("."), READ_FIELD),))
        return NextButton(
            words, open=(("set the cutter, and type what the fixture reads", READ_FIELD),)
        )
    if target is None:
        left = told_by_head(each.called for each in view.left)
        why = f"{left} would leave the window: set it nearer"
        return NextButton(f"Next: {view.left[0].name}", open=((why, READ_FIELD),))
    head = target.named.head
    cut = addresses.cut(target.port.id, setting.id)
    if head.id not in view.clamped:
        name = f"{head.name} head" if head.name and len(head.name) > 2 else "the head"
        return NextButton(f"Next: clamp up {name}", addresses.clamp_up(head.id, back=cut))
    return NextButton(f"Next: {target.name}", cut)


def _maps(view: SettingView) -> list[tuple[str, HeadMap]]:
    own = [each.port.id for each in view.positions if each.state is not PositionState.ELSEWHERE]
    here = view.next.port.id if view.next is not None and view.is_live else None
    found = []
    for sheet in view.sheets.values():
        drawn = map_of(sheet, only=own, here=here)
        if drawn is not None:
            found.append((sheet.head.name if len(view.sheets) > 1 else "", drawn))
    return found


def _may_read(view: SettingView) -> bool:
    """There is something to read back, and a reading would count."""
    setting = view.rows.setting
    return (
        setting.mode is not None
        and setting.state is not SettingState.ENDED
        and not view.rows.made_again_because
        and bool(view.left)
        and not _is_over(view)
    )


def _is_over(view: SettingView) -> bool:
    return view.job.ended_as is not None or view.job.voided_at is not None


def _tone(each: SettingPosition) -> str:
    """How loudly the table says what a bore would be."""
    if not each.is_left or each.fit is Fit.INSIDE:
        return "plain" if not each.is_left else ""
    return "due" if each.fit is Fit.ON_PURPOSE else "hold"
