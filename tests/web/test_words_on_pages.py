"""One vocabulary on every page: no computing jargon, sentence case, refusals that say it all."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from app.paths import folder
from app.web.errors import WORDS
from app.web.render import environment

# What a machinist has no use for; the pages about the shop's PC and for programs name what they
# must.
JARGON = re.compile(
    r"\b(server|database|hash|byte|bytes|cache|token|invalid|null|sync|upload|url|timeout|backend"
    r"|parse|boolean|string|username|login|log in|logout|submit|click|widget|dropdown|checkbox)\b",
    re.I,
)
OTHER_NAMES = re.compile(
    r"\b(insert|inserts|crush|valve seat ring|machine operator|work order)\b", re.I
)
OF_THE_PC = ("api_keys/", "backups/", "exports/")
MACROS = "_partials/forms.html"  # what stands there is markup
NAMES = {"Seatwright", "PIN", "PINs", "OD", "USB", "PC", "CSV", "JSON", "SHA", "PostgreSQL", "I"}
TEMPLATES = sorted(Path(folder("templates")).rglob("*.html"))


def told(text: str) -> str:
    """What a template says by itself: without its markup and what is filled in."""
    text = re.sub(
        r"\{#.*?#\}|\{\{.*?\}\}|\{%.*?%\}|<(svg|script|style)\b.*?</\1>", " ", text, flags=re.S
    )
    return html.unescape(re.sub(r"<[^>]+>", " ", text))


def name_of(path: Path) -> str:
    return path.relative_to(Path(folder("templates"))).as_posix()


@pytest.mark.parametrize("words", [JARGON, OTHER_NAMES])
def test_pages_are_in_the_words_of_the_trade(words: re.Pattern[str]) -> None:
    found = {
        name_of(path): sorted(set(words.findall(told(path.read_text()))))
        for path in TEMPLATES
        if not name_of(path).startswith((*OF_THE_PC, MACROS))
    }
    assert {name: each for name, each in found.items() if each} == {}


def test_headings_are_in_sentence_case() -> None:
    for path in TEMPLATES:
        for heading in re.findall(r"<h[123][^>]*>(.*?)</h[123]>", path.read_text(), flags=re.S):
            for part in re.split(r"\{%.*?%\}|\{\{.*?\}\}|[.:?]", heading):
                later = {each.strip(",") for each in told(part).split()[1:]}
                capitals = {each for each in later if each[:1].isupper()} - NAMES
                assert not capitals, (name_of(path), heading)


def summary(**errors: str) -> str:
    page = '{% import "_partials/forms.html" as f %}{{ f.error_summary(errors, {}) }}'
    return environment().from_string(page).render(errors=errors)


def test_a_refusal_ends_with_what_is_not_lost_and_says_it_once() -> None:
    assert "nothing is lost" in summary(size="has no digits")
    assert "is lost" not in summary(form="It is signed; nothing was changed.")


def test_an_answer_in_words_alone_says_that_nothing_was_lost() -> None:
    for status, (_, words) in WORDS.items():
        if status not in (403, 404, 405):  # asked for, not sent: there was nothing to lose
            assert "othing" in words
