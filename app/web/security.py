"""What every request passes before a page sees it, and what every answer carries."""

from __future__ import annotations

import re
from collections.abc import Mapping

from fastapi import FastAPI, HTTPException
from starlette.datastructures import Headers, MutableHeaders
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.config import Settings
from app.web.access import NotSignedIn
from app.web.ended import ask_to_sign_in
from app.web.errors import WORDS, say

SAFE_METHODS = ("GET", "HEAD", "OPTIONS", "TRACE")
# No cookie counts there and nothing is stored: any program may ask.
OPEN_TO_PROGRAMS = "/api/calc"
MOST_API = 256 * 1024
MOST_FORM = 1024 * 1024
# Ten pictures from a tablet; only their own page takes that much.
MOST_PICTURES = 64 * 1024 * 1024
# A list of a hundred thousand lines is refused by its own page, in words that say how many.
MOST_LIST = 16 * 1024 * 1024
LISTS = re.compile(r"/lists/[a-z]+/import|/shelf/sizes/import")
PICTURES = re.compile(r"/jobs/[0-9]{2}-[0-9]{4,6}/photos")
SMALLEST_PACKED = 1024

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "connect-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
    )
)
HEADERS: Mapping[str, str] = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    # With no-referrer a form would send "Origin: null" and be refused below.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
KEEP_FOR_GOOD = "public, max-age=31536000, immutable"


def install(app: FastAPI, settings: Settings) -> None:
    """Wrap the app; the last one added is the first that a request meets."""
    app.add_exception_handler(NotSignedIn, ask_to_sign_in)
    app.add_middleware(BodyLimit)
    app.add_middleware(OwnOriginOnly)
    app.add_middleware(FaultPage)
    # Level 5: half the time of the default 9 for 2 % more bytes.
    app.add_middleware(GZipMiddleware, minimum_size=SMALLEST_PACKED, compresslevel=5)
    app.add_middleware(TrustedNames, names=settings.trusted_hosts)
    app.add_middleware(AnswerHeaders)


class AnswerHeaders:
    """Headers on every answer; one that the answer set itself stays."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        caching = _caching(scope)

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", caching)
            await send(message)

        await self.app(scope, receive, send_with_headers)


class TrustedNames:
    """Refuses requests under another name than this server's: a page elsewhere could point its
    own name at the shop PC and read with the rights of the browser there."""

    def __init__(self, app: ASGIApp, names: tuple[str, ...]) -> None:
        self.app = app
        self.names = frozenset(names)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or _name(scope) in self.names:
            await self.app(scope, receive, send)
            return
        answer = PlainTextResponse(
            "Seatwright does not answer to this name. Use the address that it printed when it "
            "started, or start it with --name for another.\n",
            status_code=400,
        )
        await answer(scope, receive, send)


class OwnOriginOnly:
    """Changes come from this shop's own pages: the browser says where a form was.

    Over plain http on a local address browsers send no Sec-Fetch-Site, only Origin. A request
    with neither comes from no browser of today and is refused where the session cookie counts.
    Behind a front that speaks https, told or not, every browser of today sends Sec-Fetch-Site.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or _changes_nothing(scope) or _is_own(scope):
            await self.app(scope, receive, send)
            return
        answer = say(
            Request(scope, receive),
            403,
            "Not from here",
            "This was not sent by a page of this shop, so nothing was stored. Open the page at "
            "the shop's own address and send it from there.",
        )
        await answer(scope, receive, send)


class FaultPage:
    """Says in words that something broke; the fault goes on to the console."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        has_begun = False

        async def send_noted(message: Message) -> None:
            nonlocal has_begun
            has_begun = True
            await send(message)

        try:
            await self.app(scope, receive, send_noted)
        except Exception:
            if scope["type"] == "http" and not has_begun:
                answer = say(Request(scope, receive), 500, *WORDS[500])
                await answer(scope, receive, send)
            raise


class BodyLimit:
    """Refuses bodies larger than anything a page here sends, said or unsaid."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] in SAFE_METHODS:
            await self.app(scope, receive, send)
            return
        most = _most(scope["path"])
        said = Headers(scope=scope).get("content-length", "0")
        if not (said.isascii() and said.isdigit() and len(said) < 16 and int(said) <= most):
            answer = say(Request(scope, receive), 413, *WORDS[413])
            await answer(scope, receive, send)
            return
        got = 0

        async def receive_counted() -> Message:
            nonlocal got
            message = await receive()
            got += len(message.get("body", b""))
            if got > most:
                raise HTTPException(413)
            return message

        await self.app(scope, receive_counted, send)


def _most(path: str) -> int:
    if path.startswith("/api/"):
        return MOST_API
    if LISTS.fullmatch(path):
        return MOST_LIST
    return MOST_PICTURES if PICTURES.fullmatch(path) else MOST_FORM


def _caching(scope: Scope) -> str:
    if scope["path"].startswith("/static/"):
        # The query is the content's mark, so that address never means other bytes.
        return KEEP_FOR_GOOD if scope["query_string"] else "no-cache"
    return "no-store"


def _name(scope: Scope) -> str:
    host = Headers(scope=scope).get("host", "").lower()
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0]


def _changes_nothing(scope: Scope) -> bool:
    path: str = scope["path"]
    open_to_programs = path == OPEN_TO_PROGRAMS or path.startswith(f"{OPEN_TO_PROGRAMS}/")
    return scope["method"] in SAFE_METHODS or open_to_programs


def _is_own(scope: Scope) -> bool:
    headers = Headers(scope=scope)
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site in ("same-origin", "none")
    own = f"{scope['scheme']}://{headers.get('host', '')}"
    return headers.get("origin", "").lower() == own.lower()
