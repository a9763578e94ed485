"""Who may read for a program: whoever brings a key that the owner issued. No cookie counts."""

from __future__ import annotations

import threading
from collections import OrderedDict
from datetime import datetime, timedelta
from typing import Annotated

from fastapi import HTTPException, Security
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer
from starlette.requests import Request

from app.db import Database, now
from app.models.shop import Shop
from app.queries.api_keys import key_hashed
from app.services.api_keys import USED_EVERY, note_key_used
from app.services.sign_in import token_hash
from app.services.write import Write
from app.workflow.sign_in import FREE_FROM_ADDRESS, wait_after

# More addresses than a shop's network has; the one that tried longest ago is forgotten first.
MOST_ADDRESSES = 1000
NO_KEY = (
    "Bring a key in the header Authorization: Bearer …; the owner issues one under Office, Out "
    "and in."
)
UNKNOWN = "This key is not known here. The owner issues keys under Office, Out and in."
REVOKED = "This key was revoked. The owner issues another under Office, Out and in."
WAIT = "Several wrong keys came from this address. Wait {seconds} s, then try again."

_bearer = HTTPBearer(
    auto_error=False, description="A key that the owner issued; it reads and changes nothing."
)
Brought = Annotated[HTTPAuthorizationCredentials | None, Security(_bearer)]


class WrongKeys:
    """Wrong keys by address, in memory: a key cannot be guessed, this only keeps floods short."""

    def __init__(self) -> None:
        self._tries: OrderedDict[str, tuple[int, datetime]] = OrderedDict()
        self._lock = threading.Lock()

    def wait(self, address: str, at: datetime) -> timedelta:
        """How long until a key from there is looked at again."""
        count, last = self._tries.get(address, (0, at))
        return max(last + wait_after(count, FREE_FROM_ADDRESS) - at, timedelta(0))

    def note(self, address: str, at: datetime) -> None:
        """One more wrong key."""
        with self._lock:
            count, _ = self._tries.pop(address, (0, at))
            self._tries[address] = (count + 1, at)
            while len(self._tries) > MOST_ADDRESSES:
                self._tries.popitem(last=False)

    def forget(self, address: str) -> None:
        """A right one came from there."""
        with self._lock:
            self._tries.pop(address, None)


def keyed(request: Request, brought: Brought) -> None:
    """Let a program in that brings a key in use."""
    database: Database = request.app.state.database
    wrong: WrongKeys = request.app.state.wrong_keys
    address, at = request.client.host if request.client else "", now()
    if brought is None:
        raise _refused(401, NO_KEY)
    if wait := wrong.wait(address, at):
        raise HTTPException(429, WAIT.format(seconds=-(-wait // timedelta(seconds=1))))
    with database.read() as session:
        key = key_hashed(session, token_hash(brought.credentials[:200]))
        request.state.shop = session.get(Shop, 1)
        session.expunge_all()
    if key is None:
        wrong.note(address, at)
        raise _refused(401, UNKNOWN)
    if key.revoked_at is not None:
        raise HTTPException(403, REVOKED)
    wrong.forget(address)
    if key.last_used_at is None or at - key.last_used_at >= USED_EVERY:
        with database.write() as session:
            note_key_used(Write(session, by=None, at=at), key.id)


def _refused(status: int, words: str) -> HTTPException:
    return HTTPException(status, words, headers={"WWW-Authenticate": "Bearer"})
