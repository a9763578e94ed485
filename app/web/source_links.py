"""From what a line says of its source to where that source is told: one touch, or plain text."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from functools import cache, lru_cache

from app.calc.materials import HeadMaterial
from app.calc.plain_sources import PLAIN_SOURCES
from app.calc.sources import COMBINED_BY_GUM, Mark
from app.calc.uncertainty import COVERAGE
from app.queries.sources import ALL_SOURCES
from app.workflow.fit_advice import ASSUMED, CAP
from app.workflow.shop_rules import RULES

PAGE = "/sources"
ENTERED = "entered"
_RULES = "/shop-rules"
_PRACTICE = Mark.COMMON_PRACTICE.value
# A shorter text before a colon says too little to be told from the shop's own words.
_FEWEST_WORDS = 4
_OWN_WINDOW = tuple(f"{material.words}, ring OD " for material in HeadMaterial)
# What names no source by its own words and rests on one all the same.
_SHORT = {
    ASSUMED: f"{_RULES}/heat-cases",
    CAP: f"{_RULES}#finish",
    COVERAGE: f"{PAGE}#source-{COMBINED_BY_GUM.key}",
}

Part = tuple[str, str]


def anchor(key: str) -> str:
    """Where a source stands on its page."""
    return f"source-{key}"


@lru_cache(maxsize=4096)
def source_parts(text: str) -> tuple[Part, ...]:
    """A source's text in pieces, each with the address where it is told, or "".

    Records keep the words of their day: what is not known here stays plain text.
    """
    for plain in PLAIN_SOURCES:
        if plain.is_said_by(text):
            return ((text, f"{PAGE}#{anchor(plain.key)}"),)
    if text in _SHORT:
        return ((text, _SHORT[text]),)
    known = _known()
    parts: list[Part] = []
    at = 0
    for found in _pattern().finditer(text):
        if found.start() > at:
            parts.append((text[at : found.start()], ""))
        parts.append((found[0], known[found[0]]))
        at = found.end()
    if parts:
        return (*parts, (text[at:], "")) if text[at:] else tuple(parts)
    if text.startswith(_OWN_WINDOW):
        return ((text, f"{_RULES}#interference"),)
    return ((text, ""),)


@cache
def _known() -> dict[str, str]:
    """Every text that leads somewhere, with where."""
    rules = {
        rule.cited: f"{_RULES}/{rule.key}"
        for rule in RULES.values()
        if _once(rule.cited, (one.cited for one in RULES.values()))
    }
    shorts = Counter(one.short for one in ALL_SOURCES)
    known = {
        _PRACTICE: f"{PAGE}#shop-rules",
        Mark.ENTERED.value: f"{PAGE}#{anchor(ENTERED)}",
    } | rules
    for source in ALL_SOURCES:
        href = f"{PAGE}#{anchor(source.key)}"
        if shorts[source.short] == 1 and len(source.short.split()) >= _FEWEST_WORDS:
            known[source.short] = href
        known[source.text] = known[source.cited] = href
    return known


@cache
def _pattern() -> re.Pattern[str]:
    """The longest text that is known; a habit without more words only at the end."""
    texts = sorted(set(_known()) - {_PRACTICE}, key=len, reverse=True)
    words = "|".join(re.escape(text) for text in texts)
    return re.compile(rf"(?<!\w)(?:{words})(?!\w)|(?:^|(?<=, )){_PRACTICE}$")


def _once(text: str, texts: Iterable[str]) -> bool:
    return list(texts).count(text) == 1
