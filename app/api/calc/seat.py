"""POST /api/calc/seat: widths of a land, and what a flatter or steeper cutter leaves of it."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered, length_out
from app.api.calc.schema import LENGTH, LENGTH_OUT, NUMBER, nullable, page
from app.calc.quantities import ALLOWANCE, ANGLE, DIAMETER
from app.calc.seat import seat_land

router = APIRouter(route_class=CalcRoute)

ALWAYS = ("width", "width_projected", "axial_height")
AFTER_A_CUT = ("new_diameter", "new_width")
PAGE = page(
    "Widths of a seat's land, before and after a cut at another angle",
    request={
        "outer": LENGTH,
        "inner": LENGTH,
        "seat_angle_deg": NUMBER,
        "cutter_angle_deg": NUMBER,
        "sink": LENGTH,
    },
    optional=("cutter_angle_deg", "sink"),
    answer={
        **dict.fromkeys(ALWAYS, LENGTH_OUT),
        **dict.fromkeys(AFTER_A_CUT, nullable(LENGTH_OUT)),
    },
    example={
        "outer": "34.8 mm",
        "inner": "32.4 mm",
        "seat_angle_deg": 45,
        "cutter_angle_deg": 30,
        "sink": "0.1 mm",
    },
)


@router.post("/seat", **PAGE)
def seat(fields: RequestFields) -> Response:
    """A flatter cutter moves the outer diameter, a steeper one the inner; angles from the face."""
    outer = fields.length("outer", DIAMETER)
    inner = fields.length("inner", DIAMETER)
    seat_angle_deg = fields.number("seat_angle_deg", ANGLE)
    cutter_angle_deg = fields.optional_number("cutter_angle_deg", ANGLE)
    sink = fields.optional_length("sink", ALLOWANCE)
    fields.close()
    result = seat_land(
        outer=outer,
        inner=inner,
        seat_angle_deg=seat_angle_deg,
        cutter_angle_deg=cutter_angle_deg,
        sink=sink,
        unit=fields.unit,
    )
    return answered(
        result,
        {name: length_out(getattr(result, name)) for name in (*ALWAYS, *AFTER_A_CUT)},
    )
