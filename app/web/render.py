"""Templates to answers: one environment, the same names in every template."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Mapping
from datetime import date, datetime
from functools import cache
from typing import Any
from urllib.parse import parse_qsl, quote, unquote
from zoneinfo import ZoneInfo

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.calc.units import Length
from app.paths import folder
from app.web.handed_on import handed_on_here
from app.web.source_links import source_parts
from app.workflow.kinds import Unit
from app.workflow.words import day_words


@cache
def environment() -> Environment:
    """The one Jinja environment: undefined names fail, everything is escaped."""
    env = Environment(
        loader=FileSystemLoader(folder("templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.globals.update(client_key=new_client_key, static=static, icon=icon, hasattr=hasattr)
    env.globals["unit_choices"] = [(unit.value, unit.screen) for unit in Unit]
    env.filters.update(
        inches=lambda length, places=4: length.inches(places),
        mm=lambda length, places=3: length.mm(places),
        length=show_length,
        money=show_money,
        source_parts=source_parts,
        unit_word=unit_word,
        said=lambda words: [(each.value, each.screen) for each in words],
        capitalize_first=lambda text: text[:1].upper() + text[1:],
    )
    return env


def new_client_key() -> str:
    """A fresh key for one form."""
    return secrets.token_hex(16)


@cache
def static(path: str) -> str:
    """The address of a static file, with its content's mark so that it may be kept for good."""
    body = (folder("static") / path).read_bytes()
    return f"/static/{path}?{hashlib.sha256(body).hexdigest()[:10]}"


@cache
def icon() -> str:
    """The shop's sign as an address that holds it: one request less for every first page."""
    return f"data:image/svg+xml,{quote((folder('static') / 'icon.svg').read_text())}"


def show_length(length: Length | None, unit: str, places: int | None = None) -> str:
    """A length in the job's unit; a dash when there is none."""
    if length is None:
        return "–"
    if unit == "in":
        return length.inches(4 if places is None else places)
    return length.mm(3 if places is None else places)


def unit_word(unit: str) -> str:
    """A unit as it is said in labels and headings: ``inch``, ``mm``, ``µm``; others as they are."""
    return {Unit.INCH: Unit.INCH.screen, "um": "µm"}.get(unit, str(unit))


def show_money(minor: int | None) -> str:
    """An amount with two decimals; a dash when there is none."""
    if minor is None:
        return "–"
    return f"{'-' if minor < 0 else ''}{abs(minor) // 100:,}.{abs(minor) % 100:02d}".replace(
        ",", " "
    )


def render(name: str, context: Mapping[str, Any]) -> str:
    """A template's text, without a request: sheets."""
    return environment().get_template(name).render(**context)


def page(request: Request, template: str, /, status: int = 200, **context: Any) -> Response:
    """A whole page, or, asked for by htmx, only its main part: the same template serves both."""
    state = request.state
    shop = getattr(state, "shop", None)
    zone = ZoneInfo(shop.zone if shop else "UTC")
    at = datetime.now(zone)
    today = at.date()
    bare = is_partial(request)
    flash, *way_on = unquote(request.cookies.get(flash_cookie(request), "")).split("\n")
    shared = {
        "request": request,
        "layout": "bare.html" if bare else "base.html",
        "person": getattr(state, "person", None),
        "may": getattr(state, "may", lambda _verb: False),
        "shop": shop,
        "nav": "",
        "theme": _theme(request),
        "flash": flash,
        "flash_way": _way(way_on) if way_on[:1] != [""] else None,
        "flash_undo": _undo(way_on) if way_on[:1] == [""] else None,
        "today": today,
        "when": lambda moment: when_words(moment, zone, today),
        "clock": lambda moment: moment.astimezone(zone).strftime("%H:%M"),
        "day": lambda day: day_words(day, today),
        "next_url": _asked_for(request),
        "now": f"{at:%H:%M}",
        "newest": getattr(state, "newest", 0),
        "handed_on": [] if bare else handed_on_here(request),
    }
    html = environment().get_template(template).render(**(shared | context))
    answer = HTMLResponse(html, status_code=status)
    answer.headers["Vary"] = "HX-Request-Type, Cookie"
    answer.headers["Newest"] = str(shared["newest"])
    # The browser's Back asks its own store for the answer to a form; one it may not keep is a fault
    # page of the browser's, and what was typed is gone. No store between may keep it.
    is_sent_back = request.method == "POST" and status >= 400 and not bare and shared["person"]
    answer.headers["Cache-Control"] = "private, no-cache" if is_sent_back else "no-store"
    if shared["flash"]:
        answer.delete_cookie(flash_cookie(request))
    return answer


def _asked_for(request: Request) -> str:
    """The page that whoever takes over comes back to."""
    query = request.url.query if request.method == "GET" and not is_partial(request) else ""
    return f"{request.url.path}?{query}" if query else request.url.path


def _way(told: list[str]) -> list[str] | None:
    """A link in what was said: only to a page of ours."""
    return told[:2] if len(told) > 1 and _is_ours(told[1]) else None


def _undo(told: list[str]) -> tuple[str, list[tuple[str, str]]] | None:
    """The form that takes back what was just done, as `answers.Undo` told it."""
    if len(told) < 2 or not _is_ours(told[1]):
        return None
    action, _, fields = told[1].partition("?")
    return action, parse_qsl(fields, keep_blank_values=True)


def _is_ours(address: str) -> bool:
    return address.startswith("/") and not address.startswith(("//", "/\\"))


def is_partial(request: Request) -> bool:
    """Whether htmx asked for a part of the page."""
    return request.headers.get("HX-Request-Type") == "partial"


def asks_beside(request: Request) -> bool:
    """Whether only what stands beside a page's fields is asked for: others may have changed it."""
    return is_partial(request) and "beside" in request.query_params


def flash_cookie(request: Request) -> str:
    """The cookie that carries one sentence over a redirect; named per port like the session's."""
    return f"said_{request.url.port or 80}"


def when_words(moment: datetime, zone: ZoneInfo, today: date) -> str:
    """A time as a person says it: ``09:42`` today, else with its day."""
    local = moment.astimezone(zone)
    clock = f"{local:%H:%M}"
    return clock if local.date() == today else f"{day_words(local.date(), today)} {clock}"


def _theme(request: Request) -> str:
    chosen = request.cookies.get("theme", "")
    return chosen if chosen in ("light", "dark") else ""
