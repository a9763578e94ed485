"""Who acts in the service tests."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import select

from app.db import Database
from app.models.person import Person
from app.workflow.words import Role

NAMES = {Role.OWNER: "Olive", Role.MACHINIST: "Max", Role.SERVICE_WRITER: "Wren"}


@dataclass(frozen=True)
class Cast:
    """One person of each role."""

    owner: Person
    machinist: Person
    service_writer: Person


def new_cast(database: Database) -> Cast:
    """They start at the shop."""
    people = [Person(name=name, role=role, pin_hash="-") for role, name in NAMES.items()]
    with database.write() as session:
        session.add_all(people)
    return _by_role(people)


def found_cast(database: Database) -> Cast:
    """They are there already."""
    with database.read() as session:
        return _by_role(list(session.exec(select(Person))))


def _by_role(people: list[Person]) -> Cast:
    found = {person.role: person for person in people}
    return Cast(found[Role.OWNER], found[Role.MACHINIST], found[Role.SERVICE_WRITER])
