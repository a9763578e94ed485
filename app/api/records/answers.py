"""How the record is answered to programs, and what the description says of it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import Query
from starlette.responses import Response

from app.forms.base import LARGEST_WHOLE
from app.queries.plain_rows import plain

MOST = 200
USUAL = 50
After = Annotated[
    int | None,
    Query(ge=1, le=LARGEST_WHOLE, description="What `next` said on the page before."),
]
Limit = Annotated[int, Query(ge=1, le=MOST, description="How many on a page.")]

_ERRORS = {
    "type": "object",
    "required": ["errors"],
    "properties": {
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["field", "message"],
                "properties": {"field": {"type": "string"}, "message": {"type": "string"}},
            },
        }
    },
}


def _said(words: str, schema: Mapping[str, Any] = _ERRORS) -> dict[str, Any]:
    return {"description": words, "content": {"application/json": {"schema": dict(schema)}}}


def described(answer: str, *required: str) -> dict[int | str, dict[str, Any]]:
    """The answers of one address, for the description."""
    return {
        200: _said(answer, {"type": "object", "required": list(required)}),
        401: _said("No key, or one that is not known."),
        403: _said("The key was revoked."),
        404: _said("There is nothing of that number, or something asked for cannot be read."),
        422: _said("A filter cannot be used so; each with its field."),
        429: _said("Several wrong keys came from this address."),
    }


def told(content: Mapping[str, Any], status: int = 200) -> Response:
    """An answer."""
    text = json.dumps(
        content, ensure_ascii=False, allow_nan=False, separators=(",", ":"), default=plain
    )
    return Response(text, status, media_type="application/json")


def refused(errors: Mapping[str, str]) -> Response:
    """What is wrong, field by field."""
    return told(
        {"errors": [{"field": field, "message": words} for field, words in errors.items()]}, 422
    )
