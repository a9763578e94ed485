"""An invented shop with its weeks of work, built through the services as a shop's own would be."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from app.db import Database, now
from app.services.sheets import Draw
from seed_demo.hands import Hands
from seed_demo.jobs import Story
from seed_demo.shop import open_demo, sign_in_lines

WEEKS_BACK = 8


def build(database: Database, draw: Draw, photos: Path | None = None) -> list[str]:
    """Fill an empty database; returns who can sign in, with which PIN.

    `draw` draws the sheets that the demo's finished jobs were issued with; pictures are kept in
    `photos`, or left out without it.
    """
    today = now()
    since = today - timedelta(weeks=WEEKS_BACK)
    hands = Hands(database, None, since)
    shop = open_demo(hands, since)
    Story(hands, shop, today, draw, photos).tell()
    return sign_in_lines()
