"""Keys of programs: issued and revoked by the owner; only their hashes are kept."""

from __future__ import annotations

import secrets
from datetime import timedelta

from sqlmodel import col, select, update

from app.models.api_key import ApiKey
from app.services.sign_in import token_hash
from app.services.write import NotFound, Refused, Write, use_case

PREFIX = "seat_"
SHOWN = 10
USED_EVERY = timedelta(minutes=5)


def new_key() -> str:
    """A key for one program, to be shown once."""
    return f"{PREFIX}{secrets.token_urlsafe(32)}"


@use_case
def issue_key(tx: Write, name: str, key: str) -> ApiKey:
    """A program may read the record from now on."""
    same = select(ApiKey).where(ApiKey.name == name, col(ApiKey.revoked_at).is_(None))
    if tx.session.exec(same).first() is not None:
        raise Refused("is the name of a key that is in use; give this one its own", "name")
    row = tx.add(
        ApiKey(
            name=name,
            key_hash=token_hash(key),
            begins=key[:SHOWN],
            issued_by_id=tx.by_id,
            issued_at=tx.at,
        )
    )
    tx.log("issued a key to a program", row)
    return row


@use_case
def revoke_key(tx: Write, key_id: int) -> ApiKey:
    """From the next request on nothing is answered to it."""
    row = tx.session.get(ApiKey, key_id)
    if row is None:
        raise NotFound("There is no such key. Nothing was changed.")
    if row.revoked_at is not None:
        return tx.leave(row)
    row.revoked_at = tx.at
    tx.log("revoked a key of a program", row)
    return row


def note_key_used(tx: Write, key_id: int) -> None:
    """Move the moment a key was last used: not a change that anyone made, so not logged."""
    tx.session.execute(update(ApiKey).where(col(ApiKey.id) == key_id).values(last_used_at=tx.at))
