"""Reading one JSON request strictly: every refusal names its field, none ends in a fault.

A reader notes what is wrong and goes on with a stand-in, so that one answer lists every fault;
`Fields.close` then refuses the request before anything is worked from a stand-in.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from math import isfinite
from typing import Any, NoReturn, TypeVar

from app.calc.errors import CalculationError
from app.calc.quantities import LengthRange, NumberRange
from app.calc.units import Length, LengthError

BODY_LIMIT = 256 * 1024
LONGEST_LIST = 1000
LONGEST_NAME = 200
LONGEST_INTEGER = 400
UNITS = ("in", "mm")
ZERO = Length(0)
_UNSHOWN = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff\u2028\u2029]")

E = TypeVar("E", bound=Enum)
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class FieldError:
    """One fault of a request."""

    field: str
    message: str


class Refusal(Exception):
    """A request that cannot be answered, with every fault found."""

    def __init__(self, errors: Sequence[FieldError], status: int = 422) -> None:
        super().__init__("; ".join(f"{error.field} {error.message}" for error in errors))
        self.errors = tuple(errors)
        self.status = status


@dataclass(frozen=True, slots=True)
class _Refused:
    """Stands in the parsed body for what JSON allows but no field here does."""

    why: str


def _whole_number(text: str) -> int | _Refused:
    if len(text) > LONGEST_INTEGER:
        return _Refused("is far too large a number")
    return int(text)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        found[key] = _Refused("is given twice") if key in found else value
    return found


def read_object(raw: bytes) -> dict[str, Any]:
    """The body as one JSON object, or a refusal of the field `body`."""
    if len(raw) > BODY_LIMIT:
        raise Refusal([FieldError("body", f"is over {BODY_LIMIT // 1024} kB")], 413)
    try:
        value = json.loads(
            raw.decode("utf-8-sig"),
            parse_constant=lambda _: _Refused("is not a finite number"),
            parse_int=_whole_number,
            object_pairs_hook=_object,
        )
    except UnicodeDecodeError:
        _refuse_body("is not UTF-8 text")
    except RecursionError:
        _refuse_body("is nested too deeply")
    except ValueError:
        _refuse_body("is not readable JSON")
    if not isinstance(value, dict):
        _refuse_body("must be a JSON object")
    return value


def _refuse_body(why: str) -> NoReturn:
    raise Refusal([FieldError("body", why)]) from None


def _shown(name: str) -> str:
    """A field's name as it may be sent back: no lone surrogates, not endless."""
    safe = name.encode("utf-8", "replace").decode("utf-8")
    return safe if len(safe) <= LONGEST_NAME else safe[:LONGEST_NAME] + "…"


class Fields:
    """One object of a request; each reader takes a field once, and `close` refuses the rest."""

    def __init__(
        self,
        values: Mapping[str, Any],
        *,
        unit: str = "in",
        path: str = "",
        errors: list[FieldError] | None = None,
    ) -> None:
        self.unit = unit
        self._values = values
        self._path = path
        self._errors: list[FieldError] = [] if errors is None else errors
        self._read: set[str] = set()
        self._children: list[Fields] = []

    @classmethod
    def of(cls, raw: bytes) -> Fields:
        """Read a body; its `unit` is settled first, since every length may hang on it."""
        fields = cls(read_object(raw))
        unit = fields._take("unit")
        if unit is None:
            return fields
        if unit not in UNITS if isinstance(unit, str) else True:
            raise Refusal([FieldError("unit", "must be one of: in, mm")])
        fields.unit = str(unit)
        return fields

    def length(self, name: str, plausible: LengthRange) -> Length:
        """A required length."""
        return self._required(name, self.optional_length(name, plausible), ZERO)

    def length_or(self, name: str, plausible: LengthRange, default: Length) -> Length:
        """A length with a default."""
        found = self.optional_length(name, plausible)
        return default if found is None else found

    def optional_length(self, name: str, plausible: LengthRange) -> Length | None:
        """A length, or None when it was left out."""
        value = self._take(name)
        return None if value is None else self._length(name, value, plausible)

    def lengths(self, name: str, plausible: LengthRange) -> tuple[Length, ...]:
        """A required list of lengths."""
        return tuple(
            self._length(f"{name}[{index}]", value, plausible)
            for index, value in enumerate(self._list(name))
        )

    def number(self, name: str, plausible: NumberRange) -> float | int:
        """A required number."""
        return self._required(name, self.optional_number(name, plausible), 0)

    def number_or(self, name: str, plausible: NumberRange, default: float | int) -> float | int:
        """A number with a default."""
        found = self.optional_number(name, plausible)
        return default if found is None else found

    def optional_number(self, name: str, plausible: NumberRange) -> float | int | None:
        """A number, or None when it was left out."""
        value = self._take(name)
        return None if value is None else self._number(name, value, plausible)

    def numbers(self, name: str, plausible: NumberRange) -> tuple[float | int, ...]:
        """A required list of numbers."""
        return tuple(
            self._number(f"{name}[{index}]", value, plausible)
            for index, value in enumerate(self._list(name))
        )

    def choice(self, name: str, choices: type[E]) -> E:
        """A required member of an enumeration, by its value."""
        return self._required(name, self.optional_choice(name, choices), next(iter(choices)))

    def choice_or(self, name: str, choices: type[E], default: E) -> E:
        """A member of an enumeration, with a default."""
        found = self.optional_choice(name, choices)
        return default if found is None else found

    def optional_choice(self, name: str, choices: type[E]) -> E | None:
        """A member of an enumeration, or None when it was left out."""
        value = self._take(name)
        if value is None:
            return None
        for member in choices:
            if isinstance(value, str) and value == member.value:
                return member
        self._note(name, f"must be one of: {', '.join(str(one.value) for one in choices)}")
        return next(iter(choices))

    def text(self, name: str) -> str:
        """A required short text in one line."""
        value = self._take(name)
        if value is None:
            return self._required(name, None, "")
        why = _why_not_text(value)
        if why:
            self._note(name, why)
            return ""
        return str(value)

    def group(self, name: str) -> Fields:
        """A required object inside this one."""
        return self._required(name, self.optional_group(name), self._mute(name))

    def optional_group(self, name: str) -> Fields | None:
        """An object inside this one, or None when it was left out."""
        value = self._take(name)
        return None if value is None else self._group(name, value)

    def groups(self, name: str) -> list[Fields]:
        """A required list of objects."""
        return [
            self._group(f"{name}[{index}]", value) for index, value in enumerate(self._list(name))
        ]

    def refuse(self, name: str, message: str) -> None:
        """Note a fault that only the request as a whole shows."""
        self._note(name, message)

    def refuse_whole(self, message: str) -> None:
        """Note a fault of this object as such, by its own name."""
        self._errors.append(FieldError(self._path.rstrip(".") or "body", message))

    def worked(self, work: Callable[[], T]) -> T | None:
        """A value made of this object's fields, its refusal noted; None after any fault in it."""
        if any(error.field.startswith(self._path) for error in self._errors):
            return None
        try:
            return work()
        except CalculationError as error:
            self._note(error.field, error.message)
            return None

    def close(self) -> None:
        """Refuse the request when anything was noted, or when a field is not known."""
        self._note_unknown()
        if self._errors:
            raise Refusal(self._errors)

    def _note_unknown(self) -> None:
        for name in self._values:
            if name not in self._read:
                self._note(name, "is not a field of this calculation")
        for child in self._children:
            child._note_unknown()

    def _take(self, name: str) -> Any:
        self._read.add(name)
        return self._values.get(name)

    def _note(self, name: str, message: str) -> None:
        self._errors.append(FieldError(f"{self._path}{_shown(name)}", message))

    def _required(self, name: str, found: T | None, stand_in: T) -> T:
        if found is not None:
            return found
        self._note(name, "is needed")
        return stand_in

    def _mute(self, name: str) -> Fields:
        """Reads as empty; its faults are not listed, since the object itself already was."""
        return Fields({}, unit=self.unit, path=f"{self._path}{name}.", errors=[])

    def _group(self, name: str, value: Any) -> Fields:
        if not isinstance(value, dict):
            self._note(name, value.why if isinstance(value, _Refused) else "must be an object")
            return self._mute(name)
        child = Fields(value, unit=self.unit, path=f"{self._path}{name}.", errors=self._errors)
        self._children.append(child)
        return child

    def _list(self, name: str) -> list[Any]:
        value = self._take(name)
        if value is None:
            self._note(name, "is needed")
        elif isinstance(value, _Refused):
            self._note(name, value.why)
        elif not isinstance(value, list):
            self._note(name, "must be a list")
        elif not 1 <= len(value) <= LONGEST_LIST:
            self._note(name, f"must have 1 to {LONGEST_LIST} entries")
        else:
            return value
        return []

    def _length(self, name: str, value: Any, plausible: LengthRange) -> Length:
        why: str | None
        try:
            length = _read_length(value, self.unit)
            why = plausible.refusal(length)
        except LengthError as error:
            length, why = ZERO, str(error)
        if why:
            self._note(name, why)
            return ZERO
        return length

    def _number(self, name: str, value: Any, plausible: NumberRange) -> float | int:
        if isinstance(value, _Refused):
            self._note(name, value.why)
        elif isinstance(value, bool) or not isinstance(value, int | float):
            self._note(name, "must be a number")
        elif isinstance(value, float) and not isfinite(value):
            self._note(name, "is not a finite number")
        elif why := plausible.refusal(value):
            self._note(name, why)
        else:
            return value
        return 0


def _read_length(value: Any, unit: str) -> Length:
    if isinstance(value, _Refused):
        raise LengthError(value.why)
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise LengthError('must be a length, such as "1.6262 in", or a number')
    return Length.of(value, unit)


def _why_not_text(value: Any) -> str | None:
    if not isinstance(value, str):
        return "must be text"
    if not value.strip():
        return "is empty"
    if len(value) > LONGEST_NAME:
        return f"is longer than {LONGEST_NAME} characters"
    if any(
        ord(sign) < 32 or 127 <= ord(sign) < 160 or 0xD800 <= ord(sign) < 0xE000 for sign in value
    ):
        return "has a character that cannot be shown"
    return None


def refusal_of(error: CalculationError) -> Refusal:
    """A calculation's own refusal, as an answer."""
    return Refusal([FieldError(error.field, error.message)])
