"""POST /api/calc/setting-plan: fewest cutter settings for many positions."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered, length_out
from app.api.calc.fields import Fields
from app.api.calc.schema import (
    INTERFERENCE,
    LENGTH,
    LENGTH_OUT,
    STRING,
    TEXT,
    listed,
    many,
    page,
    record,
)
from app.calc.plan import PlannedPort, setting_plan
from app.calc.quantities import ALLOWANCE, DIAMETER, FIT
from app.calc.rules import interference as window_of
from app.calc.units import Length

router = APIRouter(route_class=CalcRoute)

PAGE = page(
    "Fewest settings that leave every position in its window",
    request={
        "ports": many(
            record(
                {
                    "port": TEXT,
                    "ring_od": LENGTH,
                    "interference": INTERFERENCE,
                    "uncertainty": LENGTH,
                }
            )
        ),
        "repeatability": LENGTH,
    },
    optional=("repeatability",),
    answer={
        "settings": listed(record({"bore": LENGTH_OUT, "ports": listed(STRING)})),
        "impossible": listed(STRING),
    },
    example={
        "ports": [
            {
                "port": port,
                "ring_od": ring_od,
                "interference": {"min": ".003", "aim": ".004", "max": ".005"},
                "uncertainty": ".0002",
            }
            for port, ring_od in (("1E", "1.6261"), ("2E", "1.6265"), ("3E", "1.6297"))
        ],
        "repeatability": ".0002",
    },
)


@router.post("/setting-plan", **PAGE)
def plan(fields: RequestFields) -> Response:
    """Windows shrink by uncertainty and repeatability; then fewest points that stab them."""
    read = [_port(port) for port in fields.groups("ports")]
    repeatability = fields.length_or("repeatability", ALLOWANCE, Length(0))
    fields.close()
    result = setting_plan(
        ports=[port for port in read if port is not None],
        repeatability=repeatability,
        unit=fields.unit,
    )
    return answered(
        result,
        {
            "settings": [
                {"bore": length_out(one.bore), "ports": list(one.ports)} for one in result.settings
            ],
            "impossible": list(result.impossible),
        },
    )


def _port(fields: Fields) -> PlannedPort | None:
    name = fields.text("port")
    ring_od = fields.length("ring_od", DIAMETER)
    asked = fields.group("interference")
    least, aim, most = (asked.length(end, FIT) for end in ("min", "aim", "max"))
    window = asked.worked(lambda: window_of(least=least, aim=aim, most=most))
    uncertainty = fields.length("uncertainty", ALLOWANCE)
    if window is None:
        return None
    return PlannedPort(name, ring_od, window, uncertainty)
