"""Keys of programs: by what they prove themselves, and as the owner's page lists them."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.models.api_key import ApiKey
from app.models.person import Person


@dataclass(frozen=True, slots=True)
class KeyLine:
    """One key and who issued it."""

    key: ApiKey
    by: str


def key_hashed(session: Session, key_hash: str) -> ApiKey | None:
    """The key of this hash, revoked ones too."""
    return session.exec(select(ApiKey).where(ApiKey.key_hash == key_hash)).first()


def list_keys(session: Session) -> list[KeyLine]:
    """Every key ever issued, those in use first, the newest first."""
    rows = session.exec(
        select(ApiKey, Person.name)
        .join(Person, col(Person.id) == col(ApiKey.issued_by_id))
        .order_by(col(ApiKey.revoked_at).is_not(None), col(ApiKey.id).desc())
    )
    return [KeyLine(key, by) for key, by in rows]
