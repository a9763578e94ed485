"""Refusals of a calculation: each names the field that is at fault, in words for a person."""

from __future__ import annotations


class CalculationError(ValueError):
    """A figure cannot be worked: `field` names the argument, `message` says why."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.message = message


class MissingError(CalculationError):
    """A figure that this calculation needs was not given."""


class OrderError(CalculationError):
    """Figures that exclude each other, such as a least fit above the most."""


class ImpossibleError(CalculationError):
    """The figures are readable, but no such part or cut can exist."""
