"""Signing in and out."""

from __future__ import annotations

import hashlib
import secrets

from sqlmodel import col, select, update

from app.models.person import PinTry, SignIn
from app.queries.sign_in import pin_standing
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.sign_in import wait_words

NOBODY = "Nobody of that name can sign in here. Choose a name from the list."
WRONG_PIN = "That is not the PIN. Try again; after several wrong ones a wait begins."
PIN_CHANGED = "The PIN was changed a moment ago. Type the new one."


def new_token() -> str:
    """A token for one browser; only its hash is kept here."""
    return secrets.token_urlsafe(32)


def token_hash(token: str) -> str:
    """What is stored of a token: useless to whoever reads the database or a backup of it."""
    return hashlib.sha256(token.encode()).hexdigest()


@use_case
def note_wrong_pin(tx: Write, person_id: int, address: str) -> PinTry:
    """A PIN that was looked at and did not match."""
    wrong = tx.add(PinTry(person_id=person_id, address=address, at=tx.at, was_right=False))
    tx.log("typed a wrong PIN", wrong, person=person_id)
    return wrong


@use_case
def note_right_pin(tx: Write, person_id: int, pin_hash: str, address: str) -> PinTry:
    """A PIN that matched `pin_hash`; refused when a wait began, or it changed, in the meantime.

    Hashing runs before the transaction opens, so many tries at once may all have been hashed.
    """
    standing = pin_standing(tx.session, person_id, address, tx.at)
    if standing is None:
        raise NotFound(NOBODY)
    if standing.wait:
        raise Refused(wait_words(standing.wait), "pin")
    if standing.person.pin_hash != pin_hash:
        raise Refused(PIN_CHANGED, "pin")
    right = tx.add(PinTry(person_id=person_id, address=address, at=tx.at, was_right=True))
    tx.log("typed the right PIN", right, person=person_id)
    return right


@use_case
def sign_in(
    tx: Write,
    person_id: int,
    pin_hash: str,
    *,
    token: str,
    address: str,
    device: str = "",
    replaces: str = "",
) -> SignIn:
    """Sign someone in whose PIN matched `pin_hash`; whoever held this browser is signed out."""
    note_right_pin(tx, person_id, pin_hash, address)
    if replaces:
        _end(tx, replaces)
    row = tx.add(
        SignIn(
            token_hash=token_hash(token),
            person_id=person_id,
            device=device[:120],
            started_at=tx.at,
            last_seen=tx.at,
        )
    )
    tx.log("signed in", row, person=person_id)
    return row


def sign_out(tx: Write, token: str) -> None:
    """End the sign-in of this token; one that is over already stays as it is."""
    _end(tx, token)
    tx.seal()


def note_seen(tx: Write, sign_in_id: int) -> None:
    """Move the moment a sign-in was last used: not a change that anyone made, so not logged."""
    tx.session.execute(
        update(SignIn)
        .where(col(SignIn.id) == sign_in_id, col(SignIn.last_seen) < tx.at)
        .values(last_seen=tx.at)
    )


def end_sign_ins(tx: Write, person_id: int | None = None, *, but: int | None = None) -> int:
    """End every sign-in of a person, or of everyone, but one; how many ended."""
    live = select(SignIn).where(col(SignIn.ended_at).is_(None))
    if person_id is not None:
        live = live.where(SignIn.person_id == person_id)
    ended = [row for row in tx.session.exec(live).all() if row.id != but]
    for row in ended:
        row.ended_at = tx.at
    return len(ended)


def _end(tx: Write, token: str) -> None:
    row = tx.session.exec(
        select(SignIn).where(SignIn.token_hash == token_hash(token), col(SignIn.ended_at).is_(None))
    ).first()
    if row is not None:
        row.ended_at = tx.at
        tx.log("signed out", row, person=row.person_id)
