"""POST /api/calc/setting: what to set on the fixture, and the bore that it gives."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered, length_out
from app.api.calc.schema import LENGTH, LENGTH_OUT, one_of, page
from app.calc.quantities import DIAMETER, GUIDE, OVERCUT, RESOLUTION
from app.calc.setting import FixtureMode, size_setting
from app.calc.units import Length

router = APIRouter(route_class=CalcRoute)

PAGE = page(
    "Size and fixture reading for a target bore",
    request={
        "target_bore": LENGTH,
        "overcut": LENGTH,
        "fixture": one_of(FixtureMode),
        "pilot": LENGTH,
        "resolution": LENGTH,
    },
    optional=("overcut", "pilot"),
    answer={
        "set_size": LENGTH_OUT,
        "reading": LENGTH_OUT,
        "expected_bore": LENGTH_OUT,
        "bore_per_division": LENGTH_OUT,
    },
    example={
        "target_bore": "1.62215",
        "overcut": ".0003",
        "fixture": "across_pilot",
        "pilot": ".3432",
        "resolution": ".0001",
    },
)


@router.post("/setting", **PAGE)
def setting(fields: RequestFields) -> Response:
    """Set target − overcut; the reading goes down to a whole number of divisions."""
    target_bore = fields.length("target_bore", DIAMETER)
    overcut = fields.length_or("overcut", OVERCUT, Length(0))
    mode = fields.choice("fixture", FixtureMode)
    pilot = fields.optional_length("pilot", GUIDE)
    resolution = fields.length("resolution", RESOLUTION)
    fields.close()
    result = size_setting(
        target_bore=target_bore,
        overcut=overcut,
        mode=mode,
        pilot=pilot,
        resolution=resolution,
        unit=fields.unit,
    )
    return answered(
        result,
        {
            "set_size": length_out(result.set_size),
            "reading": length_out(result.reading),
            "expected_bore": length_out(result.expected_bore),
            "bore_per_division": length_out(result.bore_per_division),
        },
    )
