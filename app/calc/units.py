"""Lengths as whole nanometres: read from shop text exactly, rounded once when shown.

0.0001 in is 2540 nm and 0.001 mm is 1000 nm, so both systems are exact; most nanometre
counts have no finite inch decimal, so the nanometre count is the truth and text is rounded.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import floor, isqrt

NM_PER_UNIT: dict[str, int] = {
    "in": 25_400_000,  # 1 in = 25.4 mm exactly: NIST SP 811, App. B.8
    "thou": 25_400,
    "mm": 1_000_000,
    "um": 1_000,
}
LONGEST_TEXT = 40

_NUMBER = r"(?P<whole>\d+(?:[.,]\d*)?|[.,]\d+)"
_FRACTION = r"(?:(?P<ones>\d+)(?:[ ]+|-))?(?P<top>\d+)/(?P<bottom>\d+)"
_LENGTH = re.compile(rf"(?P<sign>[+-])?(?:{_FRACTION}|{_NUMBER})[ ]*(?P<unit>[a-z\"']+)?", re.ASCII)


class LengthError(ValueError):
    """A text that cannot be read as one length; the message says why."""


@dataclass(frozen=True, order=True, slots=True)
class Length:
    """A length in whole nanometres; never a float."""

    nm: int

    @classmethod
    def nearest(cls, nm: Fraction | int) -> Length:
        """The closest whole nanometre, ties to even: the one rounding of a calculation."""
        return cls(round(nm))

    @classmethod
    def of(cls, text: str | int | float | Decimal, unit: str = "in") -> Length:
        """Read shop text in `unit`: ``Length.of("1.6262")``, ``Length.of("9/16 in")``."""
        return parse_length(text, unit)

    def __add__(self, other: Length) -> Length:
        return Length(self.nm + other.nm)

    def __sub__(self, other: Length) -> Length:
        return Length(self.nm - other.nm)

    def __neg__(self) -> Length:
        return Length(-self.nm)

    def __abs__(self) -> Length:
        return Length(abs(self.nm))

    def __mul__(self, times: int) -> Length:
        return Length(self.nm * times)

    def __bool__(self) -> bool:
        return self.nm != 0

    def inches(self, places: int) -> str:
        """Decimal inches, rounded half to even, in shop style: ``.0040``, ``1.62215``."""
        text = decimal_text(Fraction(self.nm, NM_PER_UNIT["in"]), places)
        return text.replace("0.", ".", 1) if abs(self.nm) < NM_PER_UNIT["in"] else text

    def mm(self, places: int) -> str:
        """Decimal millimetres, rounded half to even: ``0.102``, ``41.1201``."""
        return decimal_text(Fraction(self.nm, NM_PER_UNIT["mm"]), places)

    def shown(self, unit: str, inch_places: int = 4, mm_places: int = 3) -> str:
        """Inches or millimetres with that unit's number of decimals."""
        return self.inches(inch_places) if unit == "in" else self.mm(mm_places)

    @property
    def metres(self) -> float:
        """SI float, for physics only; never for a size that is cut."""
        return self.nm * 1e-9


def decimal_text(value: Fraction, places: int) -> str:
    """``value`` with that many decimals, ties to even, without a sign on zero.

    Parameters
    ----------
    value : Fraction
        the number to show, in whatever unit it is shown in [-]
    places : int
        decimals, 0 or more [-]

    >>> decimal_text(Fraction(41305480, 25400000), 5)
    '1.62620'
    >>> decimal_text(Fraction(-1, 3), 2)
    '-0.33'
    """
    return digits_text(nearest_whole(value.numerator * 10**places, value.denominator), places)


def digits_text(count: int, places: int) -> str:
    """A count of last digits as a decimal number.

    Parameters
    ----------
    count : int
        the number, in units of its last digit [-]
    places : int
        decimals, 0 or more [-]

    >>> digits_text(-33, 2), digits_text(5, 4), digits_text(12, 0)
    ('-0.33', '0.0005', '12')
    """
    digits = str(abs(count)).rjust(places + 1, "0")
    sign = "-" if count < 0 else ""
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"


def nearest_whole(numerator: int, denominator: int) -> int:
    """The whole number nearest to a quotient, ties to even, without making a fraction of it.

    Parameters
    ----------
    numerator : int
        any [-]
    denominator : int
        above 0 [-]

    >>> nearest_whole(5, 2), nearest_whole(7, 2), nearest_whole(-5, 2)
    (2, 4, -2)
    """
    below, rest = divmod(numerator, denominator)
    above = 2 * rest - denominator
    return below + 1 if above > 0 or (above == 0 and below % 2 == 1) else below


def trimmed(text: str) -> str:
    """A decimal text without trailing zeros or a bare point.

    Parameters
    ----------
    text : str
        a decimal number [-]

    >>> trimmed("1.62620"), trimmed("41."), trimmed("100")
    ('1.6262', '41', '100')
    """
    return text.rstrip("0").rstrip(".") if "." in text else text


def parse_length(text: str | int | float | Decimal, unit: str = "in") -> Length:
    """Read one length, exactly, and take it to the nearest nanometre.

    Parameters
    ----------
    text : str or number
        ``1.6222``, ``.004``, ``41,20``, ``9/16``, ``1 1/2``, ``1-1/2 in``, ``4 thou``, ``41.2 mm``;
        a number is read as the shortest decimal that gives it [-]
    unit : str
        ``in``, ``thou``, ``mm`` or ``um``, for a text that names none [-]

    Returns
    -------
    Length
        whole nanometres, ties to even

    Raises
    ------
    LengthError
        with the reason, for anything else: no digits, two separators, a mixed number without a
        fraction, scientific notation, an unknown unit, more than 40 characters.

    >>> parse_length("1-5/8 in").nm
    41275000
    >>> parse_length("41,20", "mm").nm
    41200000
    """
    nm = _nanometres(text, unit)
    return Length.nearest(nm)


def _nanometres(text: str | int | float | Decimal, unit: str) -> Fraction:
    if isinstance(text, bool):
        raise LengthError("is not a length")
    if not isinstance(text, str):
        number = Decimal(repr(text)) if isinstance(text, float) else Decimal(text)
        if not number.is_finite():
            raise LengthError("is not a finite number")
        if number.adjusted() > LONGEST_TEXT:
            raise LengthError("is far too large a number")
        return Fraction(number) * NM_PER_UNIT[unit]
    if len(text) > LONGEST_TEXT:
        raise LengthError(f"is longer than {LONGEST_TEXT} characters")
    stripped = text.strip(" \t\r\n")
    if not stripped:
        raise LengthError("is empty")
    match = _LENGTH.fullmatch(stripped)
    if match is None:
        raise LengthError(_why_unreadable(stripped))
    word = match["unit"] or unit
    if word not in NM_PER_UNIT:
        raise LengthError(f"has a unit that is not known here: {word}; use in, thou, mm or um")
    if match["top"] is not None:
        if int(match["bottom"]) == 0:
            raise LengthError("divides by zero")
        number_read = Fraction(int(match["top"]), int(match["bottom"])) + int(match["ones"] or 0)
    else:
        number_read = Fraction(match["whole"].replace(",", ".").rstrip("."))
    signed = -number_read if match["sign"] == "-" else number_read
    return signed * NM_PER_UNIT[word]


def _why_unreadable(text: str) -> str:
    if re.search(r"nan|inf", text, re.IGNORECASE):
        return "is not a finite number"
    if re.fullmatch(r"[+-]?[\d.,]+[eE][+-]?\d+.*", text):
        return "is in scientific notation; write it out"
    if len(re.findall(r"[.,]", text)) > 1:
        return "has more than one decimal separator"
    if re.search(r"\d[ -]+\d", text):
        return "looks like two numbers; write a mixed number as 1 1/2"
    if not re.search(r"[0-9]", text):
        return "has no digits"
    return "cannot be read as a length"


def parse_comparator(text: str, zeroed_on: Length, division: Length) -> Length:
    """A reading as divisions away from the size that the gauge was zeroed on.

    size = zeroed_on + divisions × division

    Parameters
    ----------
    text : str
        a signed whole or decimal number of divisions, ``+3`` or ``-2`` [divisions]
    zeroed_on : Length
        size of the master that the gauge was zeroed on [nm]
    division : Length
        one division of the gauge [nm]

    Returns
    -------
    Length
        the size read

    Raises
    ------
    LengthError
        when the text is not a signed number of divisions.

    >>> parse_comparator("+3", Length.of("1.6220"), Length.of(".0001")).inches(4)
    '1.6223'
    """
    match = re.fullmatch(r"\s*([+-]\d{1,4}(?:[.,]\d{1,2})?)\s*", text, re.ASCII)
    if match is None:
        raise LengthError("is not a signed number of divisions, such as +3 or -2")
    divisions = Fraction(match[1].replace(",", "."))
    return Length.nearest(zeroed_on.nm + divisions * division.nm)


def mean_nm(lengths: Iterable[Length]) -> Fraction:
    """The exact mean, in nanometres, not yet rounded.

    Parameters
    ----------
    lengths : iterable of Length
        at least one reading [nm]

    Raises
    ------
    ValueError
        without a reading.

    >>> mean_nm([Length(1), Length(2)])
    Fraction(3, 2)
    """
    values = [length.nm for length in lengths]
    if not values:
        raise ValueError("a mean needs at least one reading")
    return Fraction(sum(values), len(values))


def spread(lengths: Iterable[Length]) -> Length:
    """Largest minus smallest.

    Parameters
    ----------
    lengths : iterable of Length
        at least one reading [nm]

    Raises
    ------
    ValueError
        without a reading.

    >>> spread([Length.of("1.6262"), Length.of("1.6260")]).inches(4)
    '.0002'
    """
    values = [length.nm for length in lengths]
    if not values:
        raise ValueError("a spread needs at least one reading")
    return Length(max(values) - min(values))


def root_nm(square_nm2: Fraction | int) -> Length:
    """The whole nanometre nearest to a square root, ties to even, without floats.

    r = √q

    Parameters
    ----------
    square_nm2 : Fraction or int
        a square, or a sum of squares, 0 or more [nm²]

    Raises
    ------
    ValueError
        for a negative square.

    >>> root_nm(9), root_nm(Fraction(1, 4)), root_nm(Fraction(9, 4))
    (Length(nm=3), Length(nm=0), Length(nm=2))
    """
    if square_nm2 < 0:
        raise ValueError("a negative number has no square root here")
    below = isqrt(floor(square_nm2))
    half_way = Fraction(2 * below + 1, 2) ** 2
    up = square_nm2 > half_way or (square_nm2 == half_way and below % 2 == 1)
    return Length(below + 1 if up else below)


def exact(number: float | int | Fraction) -> Fraction:
    """The fraction of the shortest decimal that gives this number.

    Parameters
    ----------
    number : float, int or Fraction
        any finite number [-]

    Raises
    ------
    ValueError
        for a number that is not finite.

    >>> exact(11.4e-6)
    Fraction(57, 5000000)
    """
    if isinstance(number, Fraction):
        return number
    return Fraction(repr(number)) if isinstance(number, float) else Fraction(number)
