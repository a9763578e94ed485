"""What machines, cutters, pilots, fixtures and instruments share: names, retiring, stale pages."""

from __future__ import annotations

from typing import Any, Protocol, TypeVar, cast

from sqlmodel import Session, col, func, select

from app.models.base import Mutable
from app.models.crib import Cutter, Fixture, Instrument, Machine, Pilot
from app.models.job import Job
from app.models.setting import Setting
from app.services.settings import lapse
from app.services.stale import unsettle_settings
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.kinds import CutterKind, SettingState
from app.workflow.stale import Change

Tool = Machine | Cutter | Pilot | Fixture | Instrument
T = TypeVar("T", Machine, Cutter, Pilot, Fixture, Instrument)

NOT_THERE = "There is no such tool in the crib."
CHANGED_MEANWHILE = (
    "Someone changed this while your page was open. What you typed is still here; open the page "
    "again to see what stands now."
)


class Named(Protocol):
    """A parsed form with the name of a tool and the version of the row it was opened on."""

    name: str
    row_version: int | None


def load_tool(tx: Write, table: type[T], tool_id: int) -> T:
    """The tool, or a 404 in words."""
    found = tx.session.get(table, tool_id)
    if found is None:
        raise NotFound(NOT_THERE)
    return found


def opened_tool(tx: Write, table: type[T], tool_id: int, form: Named) -> T:
    """The tool as the person saw it, with the new name still free."""
    found = load_tool(tx, table, tool_id)
    if form.row_version is not None and form.row_version != found.row_version:
        raise Refused(CHANGED_MEANWHILE)
    refuse_taken_name(tx, table, form.name, besides=found.id)
    return found


def refuse_taken_name(tx: Write, table: type[T], name: str, besides: int | None = None) -> None:
    """One name, one tool; a retired tool keeps its name, because old records use it."""
    same = select(table).where(func.lower(col(table.name)) == name.lower())
    if besides is not None:
        same = same.where(col(table.id) != besides)
    taken = tx.session.exec(same).first()
    if taken is not None:
        retired = " (retired)" if taken.retired_at else ""
        raise Refused(
            f"is taken by another {_word(table)}{retired}; give it a name of its own", "name"
        )


@use_case
def retire_tool(
    tx: Write, table: type[Tool], tool_id: int, because: str, *, last_is_known: bool = False
) -> Tool:
    """Out of use; it stays in every record that names it. Not while a cutter is set for a job.

    The last one of its kind leaves something that cannot be done any more, so it is asked once.
    """
    tool = _tool(tx, table, tool_id)
    if tool.retired_at is not None:
        raise Refused("This is retired already; nothing was changed.")
    if isinstance(tool, Cutter):
        refuse_while_set(tx, tool, "retire it")
    if not last_is_known and (words := last_of_its_kind(tx.session, tool)):
        raise Refused(words, "confirm_last")
    tool.retired_at = tx.at
    tx.log(f"retired {_a(table)}", tool, because=because)
    return tool


def last_of_its_kind(session: Session, tool: Mutable) -> str:
    """What it means to take this tool out of use; empty while another one does its work."""
    assert isinstance(tool, Tool)
    if tool.retired_at is not None:
        return ""
    table: Any = type(tool)
    others = session.exec(
        select(table).where(table.id != tool.id, col(table.retired_at).is_(None))
    ).all()
    alike = [other for other in others if _does_the_work_of(other, tool)]
    return "" if alike else f"This is the only {_only(tool)}"


def _does_the_work_of(other: Tool, tool: Tool) -> bool:
    if isinstance(tool, Instrument):
        return isinstance(other, Instrument) and other.kind is tool.kind
    if isinstance(tool, Cutter) and tool.kind is CutterKind.ADJUSTABLE:
        return isinstance(other, Cutter) and other.kind is CutterKind.ADJUSTABLE
    return True


def _only(tool: Tool) -> str:
    """The kind that goes out of use with it, and what cannot be done without."""
    match tool:
        case Instrument():
            return (
                f"{tool.kind.screen} in use. Without one, what is read says its unit and not "
                "which gauge, and no check stands behind it."
            )
        case Cutter(kind=CutterKind.ADJUSTABLE):
            return (
                "adjustable cutter in use. Without one only the sizes of fixed cutters can be set "
                "for."
            )
        case Cutter():
            return "cutter in use. Without one no setting can be made."
        case Fixture():
            return "fixture in use. Without one no adjustable cutter can be set and read back."
        case Pilot():
            return (
                "pilot in use. Without one no guide can be said to fit a pilot, and nothing is "
                "read across one."
            )
        case _:
            return "machine in use. Without one no head can be clamped up."


@use_case
def bring_back_tool(tx: Write, table: type[Tool], tool_id: int) -> Tool:
    """Back into use."""
    tool = _tool(tx, table, tool_id)
    if tool.retired_at is None:
        raise Refused("This is in use already; nothing was changed.")
    tool.retired_at = None
    tx.log(f"brought back {_a(table)}", tool)
    return tool


def refuse_while_set(tx: Write, cutter: Cutter, what: str) -> None:
    """A cutter that is set for a job now is left as it is."""
    number = tx.session.exec(
        select(Job.number)
        .join(Setting, col(Setting.job_id) == col(Job.id))
        .where(Setting.cutter_id == cutter.id, Setting.state == SettingState.LIVE)
    ).first()
    if number is not None:
        raise Refused(
            f"This cutter is set for job {number} now. End that setting first, then {what}. "
            "Nothing was changed."
        )


def unsettle_settings_of(
    tx: Write, column: Any, tool_id: int, because: str, change: Change
) -> list[int]:
    """Settings not yet over that rest on a tool's figures: their size no longer stands.

    They lapse, so that nothing is cut with them before they are read again.
    """
    settings = tx.session.exec(
        select(Setting).where(col(column) == tool_id, Setting.state != SettingState.ENDED)
    ).all()
    for setting in settings:
        lapse(tx, setting, because)
        tx.log("a setting lapsed", setting, job=setting.job_id)
    ids = [setting.id for setting in settings]
    unsettle_settings(tx, ids, because, change)
    return ids


def _tool(tx: Write, table: type[Tool], tool_id: int) -> Tool:
    found = cast(Tool | None, tx.session.get(table, tool_id))
    if found is None:
        raise NotFound(NOT_THERE)
    return found


def _word(table: type[Tool]) -> str:
    return str(table.__tablename__)


def _a(table: type[Tool]) -> str:
    return f"{'an' if table is Instrument else 'a'} {_word(table)}"
