"""Who acts in the service tests."""

from __future__ import annotations

from dataclasses import dataclass

from app.models.person import Person


@dataclass(frozen=True)
class Cast:
    """One person of each role."""

    owner: Person
    machinist: Person
    service_writer: Person
