"""What the OpenAPI page says of each calculation: request, answer and refusals, with an example."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import Enum
from typing import Any

Schema = dict[str, Any]

LENGTH: Schema = {
    "description": 'Text such as "1.6262 in", "41.305 mm", "9/16 in" or "4 thou"; without a '
    "unit, or as a number, in the request's unit.",
    "anyOf": [{"type": "string", "minLength": 1, "maxLength": 40}, {"type": "number"}],
}
NUMBER: Schema = {"type": "number"}
BOOLEAN: Schema = {"type": "boolean"}
STRING: Schema = {"type": "string"}
TEXT: Schema = {"type": "string", "minLength": 1, "maxLength": 200}
LENGTH_OUT: Schema = {
    "type": "object",
    "required": ["nm", "in", "mm"],
    "properties": {
        "nm": {"type": "integer"},
        "in": {"type": "string"},
        "mm": {"type": "string"},
    },
}


def many(item: Schema) -> Schema:
    """A list as requests may hold it."""
    return {"type": "array", "items": item, "minItems": 1, "maxItems": 1000}


def listed(item: Schema) -> Schema:
    """A list in an answer."""
    return {"type": "array", "items": item}


def record(properties: Mapping[str, Schema], optional: Iterable[str] = ()) -> Schema:
    """An object whose fields are all required but the optional ones; others are refused."""
    left_out = set(optional)
    return {
        "type": "object",
        "required": [name for name in properties if name not in left_out],
        "properties": {
            name: nullable(schema) if name in left_out else schema
            for name, schema in properties.items()
        },
        "additionalProperties": False,
    }


def nullable(schema: Schema) -> Schema:
    """A value or null."""
    return {"anyOf": [schema, {"type": "null"}]}


def one_of(choices: type[Enum]) -> Schema:
    """A choice by its value."""
    return {"type": "string", "enum": [member.value for member in choices]}


_WINDOW: dict[str, Schema] = {"min": LENGTH, "aim": LENGTH, "max": LENGTH}
INTERFERENCE: Schema = record(_WINDOW)
INTERFERENCE_AIM_OPTIONAL: Schema = record(_WINDOW, optional=("aim",))
UNIT: Schema = {"type": "string", "enum": ["in", "mm"], "default": "in"}
WORKING: Schema = {
    "type": "array",
    "minItems": 1,
    "items": record(
        {name: {"type": "string"} for name in ("symbol", "text", "value", "unit", "source")}
    ),
}
CALCULATION: Schema = record({"name": {"type": "string"}, "version": {"type": "integer"}})
ERRORS: Schema = record(
    {
        "errors": {
            "type": "array",
            "minItems": 1,
            "items": record({"field": {"type": "string"}, "message": {"type": "string"}}),
        }
    }
)


def page(
    summary: str,
    *,
    request: Mapping[str, Schema],
    optional: Iterable[str] = (),
    answer: Mapping[str, Schema],
    example: Mapping[str, Any],
) -> dict[str, Any]:
    """Keyword arguments of a route that make its OpenAPI page whole."""
    asked = record({"unit": UNIT, **request}, optional=("unit", *optional))
    told = record({**answer, "working": WORKING, "calculation": CALCULATION})
    return {
        "summary": summary,
        "tags": ["calculations"],
        "response_model": None,
        "openapi_extra": {
            "requestBody": {
                "required": True,
                "content": {"application/json": {"schema": asked, "example": dict(example)}},
            }
        },
        "responses": {
            200: {"description": "Worked", "content": {"application/json": {"schema": told}}},
            413: _refusal("The body is over 256 kB"),
            422: _refusal("Refused; each fault names its field"),
        },
    }


def _refusal(description: str) -> dict[str, Any]:
    return {"description": description, "content": {"application/json": {"schema": ERRORS}}}
