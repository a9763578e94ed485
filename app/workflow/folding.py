"""How names and numbers are folded, so that what is typed meets what is kept."""

from __future__ import annotations

import re
import unicodedata

LONGEST_KEY = 60
FEWEST_DIGITS = 4

_WORD = re.compile(r"\w+")


def folded(text: str) -> str:
    """Letters without case or accents."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in plain if not unicodedata.combining(letter))


def words(text: str) -> list[str]:
    """The folded words of a text.

    >>> words("Harrow-Lane Fârms")
    ['harrow', 'lane', 'farms']
    """
    return [word[:LONGEST_KEY] for word in _WORD.findall(folded(text).replace("_", " "))]


def digits(text: str) -> str:
    """The digits of a phone number typed in any way."""
    return "".join(letter for letter in text if letter.isascii() and letter.isdigit())


def name_keys(name: str) -> set[str]:
    """What a name is found by: the beginning of any of its words."""
    return set(words(name))


def phone_keys(phone: str) -> set[str]:
    """What a phone number is found by: its digits from any of them on.

    >>> sorted(phone_keys("555-0134"))
    ['0134', '50134', '550134', '5550134']
    """
    number = digits(phone)
    return {number[start:] for start in range(len(number) - FEWEST_DIGITS + 1)}


def casting_keys(number: str) -> set[str]:
    """What a casting or serial number is found by: any of its parts on, without separators.

    >>> sorted(casting_keys("HL-4410-B"))
    ['4410b', 'hl4410b']
    """
    parts = words(number)
    keys = {"".join(parts[start:])[:LONGEST_KEY] for start in range(len(parts))}
    return {key for key in keys if len(key) > 1}
