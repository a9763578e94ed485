"""The answer to whoever is not signed in: sign in, and what was typed comes along."""

from __future__ import annotations

from urllib.parse import quote, urlsplit

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from app.db import Database
from app.forms.sign_in import KEPT, KEPT_FOR, ResumeForm
from app.models.shop import Shop
from app.queries.people import list_people
from app.web.access import SIGN_IN, local_path
from app.web.deps import LONGEST_FIELD, MOST_FIELDS
from app.web.render import is_partial, page


async def ask_to_sign_in(request: Request, _error: Exception) -> Response:
    """A JSON refusal, the sign-in page, or, for a form, a page that keeps what was typed."""
    path = request.url.path
    if path.startswith("/api/") or "application/json" in request.headers.get("accept", ""):
        body = {"errors": [{"field": "", "message": "Sign in first. Nothing was stored."}]}
        return JSONResponse(body, status_code=401)
    if request.method == "POST":
        typed = await _typed(request)
        if typed:
            return show_ended(request, ResumeForm.showing(typed | {KEPT_FOR: path}), 401)
    back = _came_from(request)
    url = f"{SIGN_IN}?next={quote(back, safe='/')}" if back not in ("", "/") else SIGN_IN
    if is_partial(request):
        return Response(headers={"HX-Redirect": url})
    return RedirectResponse(url, status_code=303)


def show_ended(request: Request, form: ResumeForm, status: int) -> Response:
    """The page that asks for a PIN and holds what was typed."""
    database: Database = request.app.state.database
    with database.read() as session:
        request.state.shop = session.get(Shop, 1)
        people = [(who.id, who.name, who.role.screen) for who in list_people(session)]
        answer = page(request, "sign_in/ended.html", status, form=form, people=people)
    if is_partial(request):
        # Wherever the figures were going: this answer takes the whole page's place.
        answer.headers["HX-Retarget"] = "#main"
        answer.headers["HX-Reswap"] = "innerHTML"
    return answer


def _came_from(request: Request) -> str:
    """The page to come back to: this one, or the one that this request was made from."""
    url = str(request.url)
    if is_partial(request) or request.method != "GET":
        url = request.headers.get("HX-Current-URL") or request.headers.get("Referer", "")
    parts = urlsplit(url)
    if parts.netloc != request.url.netloc:
        return ""
    return local_path(request, f"{parts.path}?{parts.query}" if parts.query else parts.path)


async def _typed(request: Request) -> dict[str, str]:
    """The fields of a form under names of their own; PINs are never sent back."""
    try:
        async with request.form(max_files=0, max_fields=MOST_FIELDS) as form:
            fields = [(name, value) for name, value in form.multi_items() if "pin" not in name]
    except HTTPException:
        return {}
    if any(isinstance(value, UploadFile) or len(value) > LONGEST_FIELD for _, value in fields):
        return {}
    lines = [(name, value) for name, value in fields if isinstance(value, str)]
    return {f"{KEPT}{nth}.{name}": value for nth, (name, value) in enumerate(lines)}
