"""Text in, typed values or field errors out; what was typed is kept for showing again."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from datetime import date
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from enum import Enum
from typing import Any, ClassVar, Self, TypeVar

from app.calc.units import NM_PER_UNIT, Length, LengthError, parse_length
from app.workflow.kinds import Unit

E = TypeVar("E", bound=Enum)

LARGEST_WHOLE = 2**31 - 1
MOST_IDS = 200
LARGEST_AMOUNT = 10**10
_PHONE = re.compile(r"[+(]*[0-9][0-9+()\-./ \u00a0]*(?:(?:ext|x)\.? ?[0-9]{1,6})?", re.IGNORECASE)


class Form:
    """One form. A subclass parses in `parse()` into its own attributes; `ok` tells the outcome.

    `names` are the fields as the page calls them in the summary of what is wrong.
    """

    names: ClassVar[Mapping[str, str]] = {}

    def __init__(self, raw: Mapping[str, str], **known: Any) -> None:
        self.raw: dict[str, str] = dict(raw)
        self.errors: dict[str, str] = {}
        for name, value in known.items():
            setattr(self, name, value)
        self.parse()

    def parse(self) -> None:
        """Read the fields; overridden by every form."""

    @classmethod
    def showing(cls, raw: Mapping[str, Any] | None = None) -> Self:
        """The form before anything was sent: raw texts to show, no errors."""
        form = cls.__new__(cls)
        form.raw = {
            name: "" if value is None else str(value) for name, value in (raw or {}).items()
        }
        form.errors = {}
        return form

    @property
    def ok(self) -> bool:
        """Nothing to mend."""
        return not self.errors

    def wrong(self, name: str, message: str) -> None:
        """Note what is wrong with a field; the first message of a field stays."""
        self.errors.setdefault(name, message)

    def confirmed(self, question: str) -> bool:
        """Whether the one-touch answer to a question came along."""
        return self.raw.get(f"confirm_{question}", "") == "yes"

    def text(self, name: str, *, required: str = "", most: int = 200, lines: bool = False) -> str:
        """A text, trimmed; `required` is the message when it is empty."""
        value = unicodedata.normalize("NFC", self.raw.get(name, "")).replace("\r\n", "\n").strip()
        if any(_is_control(letter) for letter in value if not (lines and letter in "\n\t")):
            self.wrong(name, "has a character that cannot be written here; type it again")
            return ""
        if len(value) > most:
            self.wrong(name, f"is longer than {most} characters; shorten it")
            return ""
        if required and not value:
            self.wrong(name, required)
        return value

    def dialled(self, name: str) -> str:
        """A phone number as it is dialled, with an extension where there is one."""
        value = self.text(name, most=40)
        if value and not _PHONE.fullmatch(value):
            self.wrong(name, "is not a phone number; write digits, with + - ( ) or ext. among them")
            return ""
        return value

    def choice(self, name: str, words: type[E], *, required: str = "") -> E | None:
        """One word of a vocabulary."""
        value = self.raw.get(name, "").strip()
        if not value:
            if required:
                self.wrong(name, required)
            return None
        try:
            return words(value)
        except ValueError:
            self.wrong(name, "is not one of the choices; choose again")
            return None

    def yes(self, name: str) -> bool:
        """A box that was ticked."""
        return self.raw.get(name, "") in ("yes", "on", "true", "1")

    def whole(
        self, name: str, *, required: str = "", least: int = 0, most: int = LARGEST_WHOLE
    ) -> int | None:
        """A whole number."""
        value = self.raw.get(name, "").strip()
        if not value:
            if required:
                self.wrong(name, required)
            return None
        if not (value.isascii() and value.removeprefix("-").isdigit() and len(value) <= 11):
            self.wrong(name, "must be a whole number")
            return None
        number = int(value)
        if not least <= number <= most:
            self.wrong(name, f"must be from {least} to {most}")
            return None
        return number

    def number(
        self, name: str, *, required: str = "", least: float, most: float, unit: str = ""
    ) -> float | None:
        """A measured number that is not a length, such as a temperature."""
        value = self.raw.get(name, "").strip().replace(",", ".")
        if not value:
            if required:
                self.wrong(name, required)
            return None
        plain = value.removeprefix("-").removeprefix("+")
        if not (plain.isascii() and plain.replace(".", "", 1).isdigit() and len(plain) <= 12):
            self.wrong(name, "must be a number")
            return None
        found = float(value)
        if not least <= found <= most:
            self.wrong(name, f"must be from {least:g} to {most:g} {unit}".rstrip())
            return None
        return found

    def amount(self, name: str, *, required: str = "") -> int | None:
        """Money in minor units; two decimals, point or comma."""
        value = self.raw.get(name, "").strip().replace(" ", "").replace(",", ".")
        if not value:
            if required:
                self.wrong(name, required)
            return None
        whole, _, part = value.removeprefix("-").partition(".")
        if not (
            whole.isascii() and whole.isdigit() and (not part or part.isdigit()) and part.isascii()
        ):
            self.wrong(name, "must be an amount such as 240 or 240.50")
            return None
        if len(part) > 2:
            self.wrong(name, "has more than two decimals")
            return None
        if len(whole) > 8:
            self.wrong(name, "is larger than can be agreed here")
            return None
        minor = int(whole) * 100 + int(part.ljust(2, "0") or 0)
        return -minor if value.startswith("-") else minor

    def day(self, name: str, *, required: str = "") -> date | None:
        """A date as YYYY-MM-DD."""
        value = self.raw.get(name, "").strip()
        if not value:
            if required:
                self.wrong(name, required)
            return None
        try:
            found = date.fromisoformat(value) if len(value) == 10 else None
        except ValueError:
            found = None
        if found is None or not 1950 <= found.year <= 2150:
            self.wrong(name, "is not a date; write it as year-month-day, 2026-11-27")
            return None
        return found

    def length(
        self,
        name: str,
        unit: Unit,
        *,
        required: str = "",
        least: Length | None = None,
        most: Length | None = None,
    ) -> Length | None:
        """A length; a plain number is read in `unit`, outside `least`…`most` it is refused."""
        value = self.raw.get(name, "")
        if not value.strip():
            if required:
                self.wrong(name, required)
            return None
        try:
            found = parse_length(value.strip().lower(), unit.value)
        except LengthError as unread:
            self.wrong(name, f"{value.strip()[:40]!r} {unread}")
            return None
        if (least is not None and found < least) or (most is not None and found > most):
            self.wrong(name, outside_words(value.strip()[:40], unit, least, most))
            return None
        return found


def is_row_id(text: str) -> bool:
    """Whether a text can be the id of a row: PostgreSQL refuses what is larger with a fault."""
    return text.isascii() and text.isdigit() and len(text) <= 10 and 1 <= int(text) <= LARGEST_WHOLE


def row_ids(texts: Iterable[str]) -> list[int]:
    """The ids among some texts, at most as many as a job has positions."""
    return [int(text) for text in texts if is_row_id(text)][:MOST_IDS]


def outside_words(typed: str, unit: Unit, least: Length | None, most: Length | None) -> str:
    """Why a length is refused as implausible, with the range in the field's unit."""
    if typed.startswith(("-", "\N{MINUS SIGN}")) and least is not None and least.nm >= 0:
        return f"{typed} cannot be negative."
    low = "" if least is None else f"from {_round_end(least, unit, ROUND_FLOOR)} "
    high = "" if most is None else f"to {_round_end(most, unit, ROUND_CEILING)} "
    return (
        f"{typed} is outside what can be here ({low}{high}{unit.value}). "
        "Was it typed in another unit? Write the unit behind it."
    )


def _round_end(end: Length, unit: Unit, rounding: str) -> str:
    """The end of a range in three figures, outward: it is about what can be, not a limit."""
    exact = Decimal(end.nm) / NM_PER_UNIT[unit.value]
    if not exact:
        return "0"
    last = Decimal(1).scaleb(exact.adjusted() - 2)
    text = f"{exact.quantize(last, rounding).normalize():f}"
    return text.replace("0.", ".", 1) if unit is Unit.INCH and text.lstrip("-")[0] == "0" else text


def _is_control(letter: str) -> bool:
    return unicodedata.category(letter) in ("Cc", "Cs", "Cn", "Co")
