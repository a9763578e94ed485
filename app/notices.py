"""Whose work this program runs with, and under which terms: read from what is installed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import Distribution, PackageNotFoundError, distribution

from app.paths import folder

# Requirements of these extras are for tests, or of others' extras that are not installed for us.
_EXTRA = re.compile(r"extra\s*==\s*['\"](?P<name>[^'\"]+)['\"]")
_OWN_EXTRAS = ("postgres", "binary", "argon2")
_LICENCE_FILE = re.compile(r"(?i)(?:^|/)(?:licen[cs]e|copying|notice|authors)[^/]*$")


@dataclass(frozen=True, slots=True)
class Notice:
    """One work: its name and version, the licence it names, and that licence's text."""

    name: str
    version: str
    licence: str
    text: str


def notices() -> list[Notice]:
    """The browser's script and every installed package that the program runs with, by name."""
    found = {notice.name.lower(): notice for notice in _packages("seatwright", set())}
    return [_htmx(), *(found[name] for name in sorted(found))]


def _packages(name: str, seen: set[str]) -> Iterator[Notice]:
    for line in distribution(name).requires or []:
        extra = _EXTRA.search(line)
        if extra is not None and extra["name"] not in _OWN_EXTRAS:
            continue
        package = re.match(r"[A-Za-z0-9._-]+", line)
        key = re.sub(r"[-_.]+", "-", package[0]).lower() if package else ""
        if not key or key in seen:
            continue
        seen.add(key)
        try:
            own = distribution(key)
        except PackageNotFoundError:
            continue  # of another system, or an extra that is not installed here
        yield Notice(own.name, own.version, _licence(own), _text(own))
        yield from _packages(key, seen)


def _licence(package: Distribution) -> str:
    told = package.metadata
    named = next(iter(told.get_all("License-Expression") or []), "")
    classes = [
        each.rpartition("::")[2].strip()
        for each in told.get_all("Classifier") or []
        if each.startswith("License ::")
    ]
    short = "".join(told.get_all("License") or []).strip().partition("\n")[0]
    return named or ", ".join(classes) or short or "see its text"


def _text(package: Distribution) -> str:
    texts = [
        each.read_text(encoding="utf-8")
        for each in sorted(package.files or [], key=str)
        if ".dist-info/" in f"{each}" and _LICENCE_FILE.search(f"{each}")
    ]
    return "\n\n".join(text.strip() for text in texts)


def _htmx() -> Notice:
    own = folder("static") / "vendor" / "htmx"
    script = (own / "htmx.min.js").read_text(encoding="utf-8")
    version = re.search(r"\d+\.\d+\.\d+", script)
    text = (own / "LICENSE").read_text(encoding="utf-8").strip()
    return Notice("htmx", version[0] if version else "", text.splitlines()[0], text)
