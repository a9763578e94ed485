"""One change under way: who, when, from which form; its events are sealed into the log."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar, cast

from sqlmodel import Session, col, select

from app.calc.trace import canonical, sha256
from app.db import now
from app.models.base import Row
from app.models.event import Event
from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.services.job_words import keep_job_words

FIRST_PREV = "0" * 64
_WORDLESS = ("reading_set", "reading", "reading_strike", "cut_opening", "clamp_up")

P = ParamSpec("P")
R = TypeVar("R", bound=Row)


class Refused(Exception):
    """A change that was not made, in words: what happened and what to do."""

    def __init__(self, message: str, field: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.field = field


class NotFound(Refused):
    """What the change was about is not there."""


class SentBefore(Refused):
    """The same form arrived a second time with other figures."""


@dataclass
class Write:
    """An open write transaction with its author; services take it first and never commit."""

    session: Session
    by: Person | None
    at: datetime = field(default_factory=now)
    client_key: str | None = None
    request_sha256: str | None = None
    _pending: list[Event] = field(default_factory=list)
    _depth: int = 0
    _left: Row | None = None

    @property
    def by_id(self) -> int:
        """The author's id; services that need an author call this."""
        if self.by is None:
            raise Refused("Sign in first; nothing was changed.")
        return self.by.id

    def add(self, row: R) -> R:
        """Insert a row and learn its id."""
        self.session.add(row)
        self.session.flush()
        return row

    def leave(self, row: R) -> R:
        """Nothing was changed, so nothing is logged; a use case answers the row as it stands."""
        self._left = row
        return row

    @property
    def logged(self) -> int:
        """How much of this change is logged so far."""
        return len(self._pending)

    def log(
        self,
        verb: str,
        subject: Row,
        *,
        job: Job | int | None = None,
        head: Head | int | None = None,
        port: Port | int | None = None,
        **body: Any,
    ) -> None:
        """Note what was done; bodies carry ids and figures, never names or phones."""
        self.session.flush()
        self._pending.append(
            Event(
                by_id=self.by.id if self.by else None,
                at=self.at,
                verb=verb,
                subject=str(subject.__tablename__),
                subject_id=subject.id,
                job_id=_id(job),
                head_id=_id(head),
                port_id=_id(port),
                body=canonical(body),
                prev="",
                hash="",
            )
        )

    def seal(self, *, is_last: bool = True) -> None:
        """Chain the pending events into the log; the last one of all answers for the form."""
        if not self._pending:
            return
        keep_job_words(self.session, self._jobs_to_find())
        prev = log_head(self.session)
        if is_last:
            self._pending[-1].client_key = self.client_key
            self._pending[-1].request_sha256 = self.request_sha256
        for entry in self._pending:
            entry.prev = prev
            entry.hash = prev = event_hash(entry)
            self.session.add(entry)
        self._pending.clear()
        self.session.flush()

    def _jobs_to_find(self) -> set[int]:
        """Jobs whose words may have changed; a reading has none, and must stay quick."""
        return {
            entry.job_id
            for entry in self._pending
            if entry.job_id is not None and entry.subject not in _WORDLESS
        }

    def earlier(self) -> Event | None:
        """The event of this very form, when it arrived before."""
        if self.client_key is None:
            return None
        found = self.session.exec(select(Event).where(Event.client_key == self.client_key)).first()
        if found is not None and found.request_sha256 != self.request_sha256:
            raise SentBefore(
                "This form was already sent once, with other figures; those were kept. "
                "Nothing was changed by this second sending. Open the page again to change them."
            )
        return found


def log_head(session: Session) -> str:
    """The hash of the newest event: the head of the chain."""
    newest = session.exec(select(Event.hash).order_by(col(Event.id).desc()).limit(1)).first()
    return newest or FIRST_PREV


def event_hash(entry: Event) -> str:
    """Hash over the previous hash, what was done and the body exactly as stored."""
    header = canonical(
        {
            "at": entry.at.isoformat(),
            "by": entry.by_id,
            "verb": entry.verb,
            "subject": [entry.subject, entry.subject_id],
            "about": [entry.job_id, entry.head_id, entry.port_id],
        }
    )
    return sha256(f"{entry.prev}\n{header}\n{entry.body}")


def use_case(
    service: Callable[Concatenate[Write, P], R],
) -> Callable[Concatenate[Write, P], R]:
    """One use case: logged, and done once however often its form arrives.

    The service logs the row that it returns last; a repeated form gets that row again. One that
    changed nothing leaves the row as it is. Rows that a page read before are read again inside
    the write: their figures may have changed since.
    """

    @wraps(service)
    def run(tx: Write, /, *args: P.args, **kwargs: P.kwargs) -> R:
        if tx._depth:
            return service(tx, *args, **kwargs)
        earlier = tx.earlier()
        if earlier is not None:
            return cast(R, _subject_of(tx.session, earlier))
        tx._depth += 1
        try:
            answer = service(
                tx,
                *(_fresh(tx.session, one) for one in args),
                **{name: _fresh(tx.session, one) for name, one in kwargs.items()},
            )
        finally:
            tx._depth -= 1
        last = tx._pending[-1] if tx._pending else None
        if last is None and answer is tx._left:
            return answer
        if last is None or (last.subject, last.subject_id) != (answer.__tablename__, answer.id):
            raise RuntimeError(f"{service.__name__} must log the row that it returns, last")
        tx.seal()
        return answer

    return run


def _fresh(session: Session, given: Any) -> Any:
    if isinstance(given, Row):
        return given if given in session else session.get_one(type(given), given.id)
    if isinstance(given, list | tuple) and any(isinstance(one, Row) for one in given):
        return [_fresh(session, one) for one in given]
    return given


def _subject_of(session: Session, entry: Event) -> Any:
    table = next(row for row in _tables() if row.__tablename__ == entry.subject)
    found = session.get(table, entry.subject_id)
    if found is None:
        raise NotFound("What this form made is not there any more.")
    return found


def _tables() -> list[type[Row]]:
    found: list[type[Row]] = []
    waiting: list[type[Row]] = [Row]
    while waiting:
        table = waiting.pop()
        waiting.extend(table.__subclasses__())
        if "__tablename__" in vars(table):
            found.append(table)
    return found


def _id(row: Row | int | None) -> int | None:
    return row.id if isinstance(row, Row) else row
