"""Answers of the calculation interface, and the one route class that turns refusals into them."""

from __future__ import annotations

import json
from collections.abc import Callable, Coroutine, Mapping, Sequence
from fractions import Fraction
from typing import Annotated, Any

from fastapi import Depends
from fastapi.routing import APIRoute
from starlette.requests import Request
from starlette.responses import Response

from app.api.calc.fields import BODY_LIMIT, Fields, Refusal, refusal_of
from app.calc.errors import CalculationError
from app.calc.trace import Result
from app.calc.units import NM_PER_UNIT, Length, decimal_text, trimmed


class CalcRoute(APIRoute):
    """A route whose refusals are field errors, never a fault."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """The framework's own handler, with refusals caught."""
        inner = super().get_route_handler()

        async def answer_or_refuse(request: Request) -> Response:
            try:
                return await inner(request)
            except Refusal as refusal:
                return refused(refusal)
            except CalculationError as error:
                return refused(refusal_of(error))

        return answer_or_refuse


async def request_fields(request: Request) -> Fields:
    """The body of a request, read no further than its limit."""
    raw = bytearray()
    async for chunk in request.stream():
        raw += chunk
        if len(raw) > BODY_LIMIT:
            break
    return Fields.of(bytes(raw))


RequestFields = Annotated[Fields, Depends(request_fields)]


def length_out(length: Length | None) -> dict[str, int | str] | None:
    """A length in all three ways; either text gives the nanometres back."""
    if length is None:
        return None
    return {
        "nm": length.nm,
        "in": trimmed(decimal_text(Fraction(length.nm, NM_PER_UNIT["in"]), 8)),
        "mm": trimmed(decimal_text(Fraction(length.nm, NM_PER_UNIT["mm"]), 6)),
    }


def answered(result: Result, values: Mapping[str, Any]) -> Response:
    """A calculation's values with its working and version."""
    return _json(
        200,
        {
            **values,
            "working": [
                {
                    "symbol": step.symbol,
                    "text": step.text,
                    "value": step.value,
                    "unit": step.unit,
                    "source": step.source,
                }
                for step in result.working
            ],
            "calculation": {
                "name": result.calculation.name,
                "version": result.calculation.version,
            },
        },
    )


def refused(refusal: Refusal) -> Response:
    """The list of faults."""
    errors: Sequence[Mapping[str, str]] = [
        {"field": error.field, "message": error.message} for error in refusal.errors
    ]
    return _json(refusal.status, {"errors": errors})


def _json(status: int, content: Mapping[str, Any]) -> Response:
    text = json.dumps(content, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return Response(text, status_code=status, media_type="application/json")
