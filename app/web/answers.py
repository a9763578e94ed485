"""Every answer to a form: done, to be mended, refused; one function decides how it is sent."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar
from urllib.parse import quote, urlencode

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from app.forms.base import Form
from app.models.base import Row
from app.services.write import Refused, Write
from app.web.deps import Sent, writing
from app.web.render import flash_cookie, is_partial

R = TypeVar("R", bound=Row)

# A cookie holds 4096 bytes; an undo that does not fit is not offered.
LONGEST_FLASH = 3800


@dataclass(frozen=True, slots=True)
class Undo:
    """How a change is taken back: the form that does it, ready to be sent for ten seconds."""

    action: str
    fields: Mapping[str, str] | Sequence[tuple[str, str]] = ()


def answer(
    request: Request,
    sent: Sent,
    form: Form,
    change: Callable[[Write], R],
    *,
    then: Callable[[R], str],
    show: Callable[[int], Response],
    said: Callable[[R], str] | str = "",
    way_on: Callable[[R], tuple[str, str]] | None = None,
    undo: Callable[[R], Undo | None] | None = None,
) -> Response:
    """Try one use case with a parsed form: go on when done, else show the form again.

    `show(status)` renders the page with the form's errors; nothing that was typed is lost.
    `way_on` is a link in what is said: its words and its address. `undo` stands beside what is
    said, in its place.
    """
    if not form.ok:
        return show(422)
    try:
        with writing(request, sent) as tx:
            row = change(tx)
    except Refused as no:
        form.wrong(no.field or "form", no.message)
        return show(409 if not no.field else 422)
    told = said if isinstance(said, str) else said(row)
    return done(
        request,
        then(row),
        told,
        way_on(row) if way_on else None,
        undo(row) if undo else None,
    )


def done(
    request: Request,
    url: str,
    said: str = "",
    way_on: tuple[str, str] | None = None,
    undo: Undo | None = None,
) -> Response:
    """Go on to `url`: a 303 for a plain form, a header for htmx (it would swap the next page)."""
    response: Response
    if is_partial(request):
        response = Response(status_code=200, headers={"HX-Redirect": url})
    else:
        response = RedirectResponse(url, status_code=303)
    response.headers["Vary"] = "HX-Request-Type, Cookie"
    if said:
        lines = [said[:400].replace("\n", " "), *(way_on or ())]
        undoing = [lines[0], "", f"{undo.action}?{urlencode(undo.fields)}"] if undo else lines
        told = quote("\n".join(undoing))
        response.set_cookie(
            flash_cookie(request),
            told if len(told) <= LONGEST_FLASH else quote("\n".join(lines)),
            max_age=60,
            httponly=True,
            samesite="lax",
        )
    return response
