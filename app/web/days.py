"""The shop's own day."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from starlette.requests import Request


def today(request: Request) -> date:
    """Today where the shop stands, for a request of someone signed in."""
    return datetime.now(ZoneInfo(request.state.shop.zone)).date()
