"""How backups stand, for the owner's pages; read from what was written down, so it never waits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sqlmodel import Session, col, select

from app.config import Settings
from app.keeping.backups import BY_HAND, HEAD_IN_NAMES, OF_THE_DAY
from app.keeping.copies import Copy, copy_named
from app.keeping.folder import State, read_state
from app.models.event import Event
from app.services.write import log_head

OLD = timedelta(days=2)
# A shop that opened today has had no day to be kept.
YOUNG = timedelta(days=1)
_WHY = {OF_THE_DAY: "by itself", BY_HAND: "by hand"}


@dataclass(frozen=True, slots=True)
class Backups:
    """The newest backup, what went wrong, and what there is."""

    state: State
    made_at: datetime | None
    failed_at: datetime | None
    copies: tuple[Copy, ...]  # the newest first
    nothing_since: bool
    is_old: bool
    is_missing: bool
    is_on_sqlite: bool
    own_folder: str

    @property
    def wants_a_look(self) -> bool:
        """The owner should know."""
        return bool(self.state.fault) or self.is_old or self.is_missing


def backups_view(session: Session, settings: Settings, at: datetime) -> Backups:
    """Everything the pages say about backups."""
    state = read_state(settings)
    head = log_head(session)[:HEAD_IN_NAMES]
    made_at = state.made_at
    first = session.exec(select(Event.at).order_by(col(Event.id)).limit(1)).first()
    copies = [copy_named(Path(name)) for name in state.names]
    return Backups(
        state=state,
        made_at=made_at,
        failed_at=state.failed_at,
        copies=tuple(sorted(filter(None, copies), key=lambda copy: copy.at, reverse=True)),
        nothing_since=made_at is not None and state.head == head,
        is_old=made_at is not None and state.head != head and abs(at - made_at) > OLD,
        is_missing=(
            made_at is None and not settings.demo and first is not None and abs(at - first) > YOUNG
        ),
        is_on_sqlite=settings.database_file is not None,
        own_folder=str(settings.backups),
    )


def why_words(why: str) -> str:
    """Why a copy was made."""
    return _WHY.get(why, "before an upgrade" if why.startswith("before-") else why)
