"""POST /api/calc/pilot: what a pilot's clearance allows at the cut."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered, length_out
from app.api.calc.schema import LENGTH, LENGTH_OUT, page
from app.calc.pilot import pilot_run_out
from app.calc.quantities import GUIDE, REACH

router = APIRouter(route_class=CalcRoute)

PAGE = page(
    "Offset and run-out that a straight pilot's clearance allows",
    request={
        "guide_bore": LENGTH,
        "pilot": LENGTH,
        "guide_length": LENGTH,
        "overhang": LENGTH,
    },
    answer={"clearance": LENGTH_OUT, "offset": LENGTH_OUT, "run_out": LENGTH_OUT},
    example={
        "guide_bore": ".3437 in",
        "pilot": ".3432 in",
        "guide_length": "2 in",
        "overhang": "1 in",
    },
)


@router.post("/pilot", **PAGE)
def pilot(fields: RequestFields) -> Response:
    """Clearance on diameter; offset = c/2 + c·x/L; run-out twice the offset."""
    guide_bore = fields.length("guide_bore", GUIDE)
    pilot_diameter = fields.length("pilot", GUIDE)
    guide_length = fields.length("guide_length", REACH)
    overhang = fields.length("overhang", REACH)
    fields.close()
    result = pilot_run_out(
        guide_bore=guide_bore,
        pilot=pilot_diameter,
        guide_length=guide_length,
        overhang=overhang,
        unit=fields.unit,
    )
    return answered(
        result,
        {
            "clearance": length_out(result.clearance),
            "offset": length_out(result.offset),
            "run_out": length_out(result.run_out),
        },
    )
