"""What was handed on about the job, head or position of a page: every such page begins with it."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request

from app.db import Database
from app.queries.handed_on import HandedOn, handed_on


@dataclass(frozen=True, slots=True)
class Strip:
    """One note at the top of a page, as this person sees it."""

    note: HandedOn
    is_own: bool  # written by the person who looks: it can be taken back
    is_mine: bool  # meant for the person who looks


def handed_on_here(request: Request) -> list[Strip]:
    """By what the page's address names; nothing on a page of no job."""
    names = request.path_params
    person = getattr(request.state, "person", None)
    database: Database | None = getattr(request.app.state, "database", None)
    if person is None or database is None or request.method != "GET":
        return []
    with database.read() as session:
        if "port_id" in names:
            found = handed_on(session, port_id=_id(names["port_id"]))
        elif "head_id" in names:
            found = handed_on(session, head_id=_id(names["head_id"]))
        elif "number" in names:
            found = handed_on(session, number=str(names["number"]))
        else:
            return []
    return [
        Strip(
            each,
            is_own=each.note.by_id == person.id,
            is_mine=each.note.for_id == person.id,
        )
        for each in found
    ]


def _id(text: object) -> int:
    return int(str(text))
