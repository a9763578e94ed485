"""POST /api/calc/expansion: how far a metal has shrunk from 293 K, by a measured curve."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered
from app.api.calc.schema import NUMBER, one_of, page
from app.calc.expansion import Curve, kelvin
from app.calc.expansion import expansion as work_expansion
from app.calc.quantities import CURVE_TEMPERATURE, TEMPERATURE

router = APIRouter(route_class=CalcRoute)

PAGE = page(
    "Change of length from 293 K by a measured curve; one of the two temperatures",
    request={"curve": one_of(Curve), "temperature_c": NUMBER, "temperature_k": NUMBER},
    optional=("temperature_c", "temperature_k"),
    answer={"change_1e5": NUMBER},
    example={"curve": "304", "temperature_c": -196},
)


@router.post("/expansion", **PAGE)
def expansion(fields: RequestFields) -> Response:
    """1e5·ΔL/L from 293 K; outside the curve's range it is refused."""
    curve = fields.choice("curve", Curve)
    in_c = fields.optional_number("temperature_c", TEMPERATURE)
    in_k = fields.optional_number("temperature_k", CURVE_TEMPERATURE)
    if in_c is None and in_k is None:
        fields.refuse("temperature_c", "is needed, or temperature_k")
    if in_c is not None and in_k is not None:
        fields.refuse("temperature_k", "is given beside temperature_c; give one of them")
    fields.close()
    result = work_expansion(
        curve=curve,
        temperature_k=(in_k or 0) if in_c is None else kelvin(temperature_c=in_c),
        temperature_field="temperature_k" if in_c is None else "temperature_c",
    )
    return answered(result, {"change_1e5": result.change_1e5})
