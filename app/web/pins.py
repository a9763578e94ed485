"""PINs on their way to a service: hashed apart from the threads that save readings, and before
a write transaction opens; never part of what the log keeps of a form."""

from __future__ import annotations

from dataclasses import dataclass, replace

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request

from app.db import Database, now
from app.queries.sign_in import PinStanding, pin_standing
from app.services.pin import hash_pin, pin_matches
from app.services.sign_in import NOBODY, WRONG_PIN, new_token, note_wrong_pin, sign_in
from app.services.write import NotFound, Refused, Write
from app.threads import slow_work
from app.web.access import token
from app.web.deps import Sent, settings
from app.workflow.sign_in import wait_words


def without_mark(sent: Sent) -> Sent:
    """The form without its key and mark: the mark of four digits is quickly guessed back."""
    return replace(sent, client_key="", sha256="")


def address(request: Request) -> str:
    """Where the request came from."""
    return request.client.host[:60] if request.client else ""


async def hashed(request: Request, pin: str) -> str:
    """A new PIN's hash."""
    return await slow_work(hash_pin, pin, settings(request).pin_cost)


async def checked(request: Request, person_id: int, pin: str) -> str:
    """The stored hash that this PIN matched; a wrong one is noted and refused."""
    database: Database = request.app.state.database
    try_at = _TryAt(database, person_id, address(request))
    standing = await run_in_threadpool(try_at.standing)
    if standing.wait:
        raise Refused(wait_words(standing.wait), "pin")
    pin_hash = standing.person.pin_hash
    if not await slow_work(pin_matches, pin, pin_hash):
        await run_in_threadpool(try_at.note_wrong)
        raise Refused(WRONG_PIN, "pin")
    return pin_hash


async def signed_in_with(request: Request, person_id: int, pin: str) -> str:
    """Sign someone in on this browser; its new token. Whoever held the browser is signed out."""
    pin_hash = await checked(request, person_id, pin)
    new = new_token()

    def write() -> None:
        database: Database = request.app.state.database
        with database.write() as session:
            sign_in(
                Write(session, by=None),
                person_id,
                pin_hash,
                token=new,
                address=address(request),
                device=request.headers.get("user-agent", ""),
                replaces=token(request),
            )

    await run_in_threadpool(write)
    return new


@dataclass(frozen=True, slots=True)
class _TryAt:
    database: Database
    person_id: int
    address: str

    def standing(self) -> PinStanding:
        with self.database.read() as session:
            found = pin_standing(session, self.person_id, self.address, now())
            session.expunge_all()
        if found is None:
            raise NotFound(NOBODY)
        return found

    def note_wrong(self) -> None:
        with self.database.write() as session:
            note_wrong_pin(Write(session, by=None), self.person_id, self.address)
