"""POST /api/calc/spindle: revolutions a minute from a surface speed."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered
from app.api.calc.schema import LENGTH, NUMBER, one_of, page, record
from app.calc.quantities import DIAMETER, SURFACE_SPEED
from app.calc.spindle import SpeedUnit, spindle_speed

router = APIRouter(route_class=CalcRoute)

PAGE = page(
    "Spindle speed from surface speed and diameter",
    request={
        "diameter": LENGTH,
        "surface_speed": record({"value": NUMBER, "unit": one_of(SpeedUnit)}),
    },
    answer={"rpm": NUMBER},
    example={"diameter": "1.6221 in", "surface_speed": {"value": 100, "unit": "ft/min"}},
)


@router.post("/spindle", **PAGE)
def spindle(fields: RequestFields) -> Response:
    """n = 1000·v/(π·D) = 12·V/(π·D), not rounded."""
    diameter = fields.length("diameter", DIAMETER)
    speed = fields.group("surface_speed")
    value = speed.number("value", SURFACE_SPEED)
    speed_unit = speed.choice("unit", SpeedUnit)
    fields.close()
    result = spindle_speed(
        diameter=diameter, surface_speed=value, speed_unit=speed_unit, unit=fields.unit
    )
    return answered(result, {"rpm": result.rpm})
