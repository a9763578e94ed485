"""The record of a calculation: what went in, each step with its source, and the version."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from enum import Enum
from fractions import Fraction
from typing import Any

from app.calc.units import Length


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a working: a quantity, its figure as text, and where it comes from."""

    symbol: str
    text: str
    value: str
    unit: str
    source: str
    is_total: bool = False


@dataclass(frozen=True, slots=True)
class Calculation:
    """Which formula made a figure; the version rises when the formula or its rounding changes."""

    name: str
    version: int


@dataclass(frozen=True, kw_only=True)
class Result:
    """What every calculation returns, beside its own values."""

    calculation: Calculation
    inputs: Mapping[str, Any]
    working: tuple[Step, ...]


def plain(value: Any) -> Any:
    """Values as JSON types: lengths as nanometres, fractions, days as text, records as objects."""
    if isinstance(value, Length):
        return {"nm": value.nm}
    if isinstance(value, Fraction):
        return str(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date):
        return value.isoformat()
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return value


def canonical(value: Any) -> str:
    """The one text of a record: sorted keys, no spaces, ASCII; hash this and store this."""
    return json.dumps(
        plain(value), sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False
    )


def sha256(text: str) -> str:
    """Hex digest of a canonical text."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()
