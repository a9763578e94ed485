"""Who can sign in, as what, with which PIN."""

from __future__ import annotations

from sqlmodel import col, func, select

from app.models.person import Person
from app.services.sign_in import end_sign_ins, note_right_pin
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.words import Role

NOT_THERE = "There is no such person. Nothing was changed."
LAST_OWNER = (
    "This is the only owner. Make someone else an owner first; nothing was changed. "
    "Without an owner nobody could change rules, people or PINs."
)
CHANGED_MEANWHILE = "Someone changed this person in the meantime. Look again; nothing was changed."


@use_case
def add_person(tx: Write, name: str, role: Role, pin_hash: str) -> Person:
    """Someone new who can sign in."""
    _refuse_taken(tx, name)
    person = tx.add(Person(name=name, role=role, pin_hash=pin_hash, pin_set_at=tx.at))
    tx.log("added a person", person, role=role.value)
    return person


@use_case
def update_person(
    tx: Write, person_id: int, name: str, role: Role, row_version: int | None = None
) -> Person:
    """Rename someone or change their role; the new role holds from their next page."""
    person = _still_here(tx, person_id)
    if row_version is not None and row_version != person.row_version:
        raise Refused(CHANGED_MEANWHILE)
    if name != person.name:
        _refuse_taken(tx, name, but=person.id)
    if role is not Role.OWNER:
        _refuse_last_owner(tx, person, "role")
    was = person.role
    renamed = name != person.name
    person.name, person.role = name, role
    tx.log("changed a person", person, role=role.value, role_was=was.value, renamed=renamed)
    return person


@use_case
def reset_pin(tx: Write, person_id: int, pin_hash: str) -> Person:
    """A new PIN by the owner or on the console: every sign-in of this person ends."""
    person = _still_here(tx, person_id)
    person.pin_hash, person.pin_set_at = pin_hash, tx.at
    ended = end_sign_ins(tx, person.id)
    tx.log("set a PIN", person, sign_ins_ended=ended, on_console=tx.by is None)
    return person


@use_case
def change_own_pin(
    tx: Write, old_pin_hash: str, pin_hash: str, *, address: str, sign_in_id: int
) -> Person:
    """A new PIN for the one signed in, whose old one matched; their other devices sign in again."""
    note_right_pin(tx, tx.by_id, old_pin_hash, address)
    person = _still_here(tx, tx.by_id)
    person.pin_hash, person.pin_set_at = pin_hash, tx.at
    ended = end_sign_ins(tx, person.id, but=sign_in_id)
    tx.log("changed their own PIN", person, sign_ins_ended=ended)
    return person


@use_case
def sign_out_everywhere(tx: Write, person_id: int, *, but: int | None = None) -> Person:
    """A tablet was lost: every sign-in of this person ends, but the one that asks for it."""
    person = _still_here(tx, person_id)
    ended = end_sign_ins(tx, person.id, but=but)
    tx.log("ended the sign-ins of a person", person, sign_ins_ended=ended)
    return person


@use_case
def retire(tx: Write, person_id: int) -> Person:
    """Someone who no longer works here: cannot sign in; everything they did keeps their name."""
    person = _still_here(tx, person_id)
    _refuse_last_owner(tx, person, "")
    person.retired_at = tx.at
    ended = end_sign_ins(tx, person.id)
    tx.log("retired a person", person, sign_ins_ended=ended)
    return person


def _still_here(tx: Write, person_id: int) -> Person:
    person = tx.session.get(Person, person_id)
    if person is None or person.retired_at is not None:
        raise NotFound(NOT_THERE)
    return person


def _refuse_taken(tx: Write, name: str, but: int | None = None) -> None:
    """Names tell people apart on signatures for years, so a retired person keeps theirs."""
    for other_id, other, retired_at in tx.session.exec(
        select(Person.id, Person.name, Person.retired_at)
    ):
        if other_id != but and other.casefold() == name.casefold():
            who = "Someone who retired" if retired_at else "Someone"
            raise Refused(f"{who} is called {other} already. Add a letter or a surname.", "name")


def _refuse_last_owner(tx: Write, person: Person, field: str) -> None:
    if person.role is not Role.OWNER:
        return
    others = tx.session.exec(
        select(func.count())
        .select_from(Person)
        .where(
            Person.role == Role.OWNER,
            col(Person.retired_at).is_(None),
            col(Person.id) != person.id,
        )
    ).one()
    if others == 0:
        raise Refused(LAST_OWNER, field)
