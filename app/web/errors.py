"""Error pages: what happened, what to do, and that nothing was lost."""

from __future__ import annotations

import logging

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from sqlalchemy.exc import DatabaseError, DBAPIError, InterfaceError, OperationalError
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response

from app.services.write import NotFound, Refused
from app.web.deps import TooMuch
from app.web.render import page

_log = logging.getLogger("seatwright.web")

WORDS = {
    404: ("Not found", "There is nothing at this address. The number may be mistyped."),
    405: ("Not found", "This address answers to another kind of request."),
    403: ("Not for this sign-in", "Your role does not include this. Ask the owner."),
    413: ("Too much", "That was larger than any page here sends. Nothing was stored."),
    500: (
        "Something went wrong here",
        "Nothing of this was stored, and nothing earlier was lost. The console of the shop's PC "
        "says what happened. Go back and try once more.",
    ),
    422: ("Not understood", "Something in what was sent cannot be read. Nothing was stored."),
}
UNCHANGED = "Nothing was changed, and nothing is lost."
KEPT = "Nothing of this was stored, and nothing earlier was lost. "
BUSY = (
    "The records could not be written",
    KEPT + "Another program may hold them, or the disk may be full. Keep this page open "
    "and send it again in a moment.",
)
# What a database or the disk says, and what that means to someone at the bench.
CAUSES: tuple[tuple[tuple[str, ...], tuple[str, str]], ...] = (
    (
        ("lock timeout",),
        (
            "Another server of the shop is writing",
            KEPT + "It does not come to an end: it may hang, and is cut off after a while. Keep "
            "this page open and send it again in a moment.",
        ),
    ),
    (
        ("idle-in-transaction", "statement timeout"),
        (
            "This took too long",
            KEPT + "The server stood still while it wrote, and was cut off so that the others "
            "could go on. Keep this page open and send it again.",
        ),
    ),
    (
        (
            *("connection refused", "connection failed", "closed the connection"),
            *("connection is lost", "connection is closed", "starting up", "shutting down"),
            *("terminating connection", "timeout expired", "connection timeout"),
            *("too many clients", "connection slots", "could not receive data"),
        ),
        (
            "The database does not answer",
            KEPT + "PostgreSQL is being started, or its PC or the network is away. Keep this page "
            "open and send it again in a moment.",
        ),
    ),
    (
        ("is full", "no space left", "disk full", "quota"),
        (
            "The disk of the shop's PC is full",
            KEPT + "Make room on that disk, keep this page open and send it again.",
        ),
    ),
    (
        ("readonly", "read-only"),
        (
            "The records may only be read",
            KEPT + "The shop's PC lets nothing be written where they are kept: its disk may have "
            "failed, or rights were changed. Keep this page open; the owner looks at the PC.",
        ),
    ),
    (
        ("locked", "busy"),
        (
            "Another program holds the records",
            KEPT + "Close whatever else has them open on the shop's PC, a copying or "
            "checking program perhaps. Keep this page open and send it again in a moment.",
        ),
    ),
    (
        ("malformed", "not a database", "corrupt", "disk i/o error"),
        (
            "The records cannot be read",
            "Nothing of this was stored. The database or its disk is damaged: stop working on the "
            "records. The owner stops the server on the shop's PC and starts it again; it says "
            "which backup reads well and how to bring it back.",
        ),
    ),
)


def install(app: FastAPI) -> None:
    """Answer every error as a page, or as JSON under /api."""

    @app.exception_handler(HTTPException)
    def refused_by_framework(request: Request, error: HTTPException) -> Response:
        title, words = WORDS.get(error.status_code, ("Not done", str(error.detail)))
        if error.detail and isinstance(error.detail, str) and error.status_code in (401, 403, 429):
            words = error.detail
        response = say(request, error.status_code, title, words)
        response.headers.update(error.headers or {})
        return response

    @app.exception_handler(RequestValidationError)
    def unreadable(request: Request, _error: RequestValidationError) -> Response:
        # A path that cannot be an id is an unknown address. The input is never echoed.
        return say(request, 404, *WORDS[404])

    @app.exception_handler(TooMuch)
    def too_much(request: Request, _error: TooMuch) -> Response:
        return say(request, 413, *WORDS[413])

    @app.exception_handler(ClientDisconnect)
    def gone(_request: Request, _error: ClientDisconnect) -> Response:
        # A page that sends each reading lets go of an older sending: nobody waits for an answer.
        return Response(status_code=400)

    @app.exception_handler(NotFound)
    def not_found(request: Request, error: NotFound) -> Response:
        return say(request, 404, "Not found", error.message)

    @app.exception_handler(Refused)
    def refused(request: Request, error: Refused) -> Response:
        return say(request, 409, "Not done", error.message)

    @app.exception_handler(InterfaceError)
    @app.exception_handler(OperationalError)
    def database_busy(request: Request, error: DBAPIError) -> Response:
        _log.error("%s: %s", request.url.path, error.orig)
        return say(request, 503, *(cause(str(error.orig)) or BUSY))

    @app.exception_handler(DatabaseError)
    def database_fault(request: Request, error: DBAPIError) -> Response:
        return _say_cause(request, error, str(error.orig))

    @app.exception_handler(OSError)
    def disk_fault(request: Request, error: OSError) -> Response:
        # A picture that the disk has no room for.
        return _say_cause(request, error, str(error.strerror or error))


def cause(said: str) -> tuple[str, str] | None:
    """Title and words for what a database or a disk said, where they are known."""
    plain = said.lower()
    return next((told for signs, told in CAUSES if any(sign in plain for sign in signs)), None)


def _say_cause(request: Request, error: Exception, said: str) -> Response:
    known = cause(said)
    if known is None:
        raise error
    _log.error("%s: %s", request.url.path, said)
    return say(request, 503, *known)


def say(request: Request, status: int, title: str, words: str) -> Response:
    """An answer in words alone: a page, or JSON under /api."""
    if request.url.path.startswith("/api/"):
        return JSONResponse({"errors": [{"field": "", "message": words}]}, status_code=status)
    if request.method != "GET" and "othing" not in words:
        words = f"{words} {UNCHANGED}"
    return page(request, "errors/said.html", status, title=title, words=words)
