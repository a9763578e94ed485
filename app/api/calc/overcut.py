"""POST /api/calc/overcut: what a tip cuts beside the size it was set to."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered, length_out
from app.api.calc.schema import LENGTH, LENGTH_OUT, listed, many, nullable, page, record
from app.calc.overcut import Cut
from app.calc.overcut import overcut as work_overcut
from app.calc.quantities import DIAMETER

router = APIRouter(route_class=CalcRoute)

CHART = record(
    dict.fromkeys(("centre", "low", "high", "mean_moving_range"), LENGTH_OUT),
)
PAGE = page(
    "Mean, spread and individuals chart of a cutter tip's overcut",
    request={"cuts": many(record({"set": LENGTH, "measured": LENGTH}))},
    answer={
        "mean": LENGTH_OUT,
        "standard_deviation": nullable(LENGTH_OUT),
        "count": {"type": "integer"},
        "chart": nullable(CHART),
        "out_of_control": listed({"type": "integer"}),
    },
    example={
        "cuts": [
            {"set": "1.6218 in", "measured": "1.6221 in"},
            {"set": "1.6218 in", "measured": "1.6220 in"},
            {"set": "1.6318 in", "measured": "1.6322 in"},
        ]
    },
)


@router.post("/overcut", **PAGE)
def overcut(fields: RequestFields) -> Response:
    """Measured − set over the cuts of one tip, oldest first; a cut beyond a limit by its index."""
    cuts = [
        Cut(set_size=cut.length("set", DIAMETER), measured=cut.length("measured", DIAMETER))
        for cut in fields.groups("cuts")
    ]
    fields.close()
    result = work_overcut(cuts=cuts, unit=fields.unit)
    chart = result.chart
    return answered(
        result,
        {
            "mean": length_out(result.mean),
            "standard_deviation": length_out(result.standard_deviation),
            "count": result.count,
            "chart": None
            if chart is None
            else {
                "centre": length_out(chart.centre),
                "low": length_out(chart.low),
                "high": length_out(chart.high),
                "mean_moving_range": length_out(chart.mean_moving_range),
            },
            "out_of_control": list(result.out_of_control),
        },
    )
