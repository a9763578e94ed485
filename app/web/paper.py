"""Paper: one style inlined and allowed by its hash, and words that still read years later."""

from __future__ import annotations

import base64
import hashlib
from datetime import date, datetime
from functools import cache
from zoneinfo import ZoneInfo

from starlette.responses import HTMLResponse, Response

from app.calc.units import Length
from app.paths import folder
from app.workflow.kinds import Unit
from app.workflow.words import DAYS, MONTHS

OTHER = {Unit.INCH: Unit.MM, Unit.MM: Unit.INCH}


def print_answer(html: str, *style_sha256: str) -> Response:
    """A page for paper: its own styles are allowed by their hashes, and nothing else is loaded."""
    answer = HTMLResponse(html)
    digests = [base64.b64encode(bytes.fromhex(each)).decode("ascii") for each in style_sha256]
    styles = " ".join(f"'sha256-{digest}'" for digest in digests)
    answer.headers["Content-Security-Policy"] = (
        f"default-src 'none'; style-src {styles}; img-src 'self' data:; "
        "form-action 'none'; frame-ancestors 'none'; base-uri 'none'"
    )
    answer.headers["Cache-Control"] = "private, no-cache"
    return answer


@cache
def style(name: str = "sheet") -> str:
    """The style of every sheet, as it goes into each of them; or of what covers one."""
    return (folder("static") / f"{name}.css").read_text(encoding="utf-8")


def style_sha256(name: str = "sheet") -> str:
    """Its hash, in hex."""
    return hashlib.sha256(style(name).encode("utf-8")).hexdigest()


def both(length: Length, inch_places: int = 4, mm_places: int = 3, *, unit: Unit) -> str:
    """The same length in the other unit, named: for the small line under a figure."""
    other = OTHER[unit].value
    return f"{length.shown(other, inch_places, mm_places)} {other}"


def stamp(moment: datetime, zone: ZoneInfo) -> str:
    """A moment as it still reads years later: ``2 Mar 2026, 09:12``."""
    local = moment.astimezone(zone)
    return f"{dated(local.date(), with_day=False)}, {local:%H:%M}"


def dated(day: date, with_day: bool = True) -> str:
    """A day with its year: ``Monday 2 Mar 2026``."""
    told = f"{day.day} {MONTHS[day.month - 1]} {day.year}"
    return f"{DAYS[day.weekday()]} {told}" if with_day else told


def short_day(day: date, year: int) -> str:
    """A day as a tag has room for: ``Fri 27 Nov``, with its year when that is another."""
    told = f"{DAYS[day.weekday()][:3]} {day.day} {MONTHS[day.month - 1]}"
    return told if day.year == year else f"{told} {day.year}"
