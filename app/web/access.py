"""Who may come in: one dependency on every route that is not open to all."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any
from urllib.parse import urlsplit

from fastapi import Depends, HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Match

from app.db import Database, now
from app.queries.sign_in import SignedIn, signed_in
from app.services.sign_in import note_seen, token_hash
from app.services.write import Write
from app.web.deps import settings
from app.workflow.permissions import Verb, refusal
from app.workflow.permissions import may as role_may
from app.workflow.sign_in import SEEN_EVERY

SIGN_IN = "/sign-in"


class NotSignedIn(Exception):
    """Nobody is signed in on this browser, or not any more."""


@dataclass(frozen=True, slots=True)
class Access:
    """Lets through whose role may `verb`, and says on the request who it is."""

    verb: Verb
    # A page that asks by itself every few seconds is not a person using it.
    polls: bool = False

    def __call__(self, request: Request) -> None:
        database: Database = request.app.state.database
        found = current(request)
        if found is None:
            raise NotSignedIn
        introduce(request, found)
        if not role_may(found.person.role, self.verb):
            raise HTTPException(403, refusal(self.verb))
        at = now()
        asked_itself = self.polls or "Asked-Itself" in request.headers
        if not asked_itself and at - found.sign_in.last_seen >= SEEN_EVERY:
            with database.write() as session:
                note_seen(Write(session, found.person, at), found.sign_in.id)


def may(verb: Verb, *, polls: bool = False) -> Any:
    """For `dependencies=[…]` of a route: only those whose role may `verb` get there."""
    return Depends(Access(verb, polls))


def token(request: Request) -> str:
    """This browser's token; empty when it has none."""
    return request.cookies.get(settings(request).cookie_name, "")


def introduce(request: Request, found: SignedIn) -> None:
    """Say on the request who it is: routes, pages and writes read it there."""
    state = request.state
    state.person, state.shop, state.sign_in = found.person, found.shop, found.sign_in
    state.newest = found.newest
    state.may = partial(role_may, found.person.role)


def current(request: Request, held: str = "") -> SignedIn | None:
    """Who is signed in with this browser's token, or with `held`."""
    held = held or token(request)
    if not held:
        return None
    database: Database = request.app.state.database
    with database.read() as session:
        found = signed_in(session, token_hash(held), now())
        session.expunge_all()  # kept beyond this session, for the whole request
    return found


def keep_token(request: Request, response: Response, new: str) -> None:
    """Give the browser its token. The server ends sign-ins, so the cookie only outlasts them."""
    response.set_cookie(
        settings(request).cookie_name,
        new,
        max_age=400 * 24 * 3600,
        path="/",
        httponly=True,
        samesite="lax",
        secure=request.url.scheme == "https",
    )


def drop_token(request: Request, response: Response) -> None:
    """Take the token from the browser."""
    response.delete_cookie(settings(request).cookie_name, path="/", httponly=True, samesite="lax")


def local_path(request: Request, text: str, method: str = "GET") -> str:
    """An address of this shop to go on to, else "": a link must not lead elsewhere, nor to what
    this method cannot open."""
    plain = text.isascii() and text.isprintable() and "\\" not in text and len(text) <= 500
    if not plain or not text.startswith("/") or text.startswith("//"):
        return ""
    path = urlsplit(text).path
    if path == SIGN_IN or path.startswith((f"{SIGN_IN}/", "/static/", "/api/")):
        return ""
    wanted = {"type": "http", "method": method, "path": path, "root_path": ""}
    opens = any(route.matches(dict(wanted))[0] is Match.FULL for route in request.app.routes)
    return text if opens else ""
