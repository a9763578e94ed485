"""POST /api/calc/running-fit: the interference at other temperatures than 20 °C."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered, length_out
from app.api.calc.schema import LENGTH, LENGTH_OUT, NUMBER, STRING, TEXT, listed, many, page, record
from app.calc.quantities import ALPHA, DIAMETER, FIT, TEMPERATURE
from app.calc.running_fit import Case
from app.calc.running_fit import running_fit as work_running_fit

router = APIRouter(route_class=CalcRoute)

PAGE = page(
    "Interference of ring and head at each pair of temperatures",
    request={
        "diameter": LENGTH,
        "interference": LENGTH,
        "ring_alpha_per_k": NUMBER,
        "head_alpha_per_k": NUMBER,
        "cases": many(record({"name": TEXT, "ring_c": NUMBER, "head_c": NUMBER})),
    },
    answer={
        "cases": listed(record({"name": STRING, "interference": LENGTH_OUT, "change": LENGTH_OUT}))
    },
    example={
        "diameter": "1.625 in",
        "interference": ".007 in",
        "ring_alpha_per_k": 11.8e-6,
        "head_alpha_per_k": 22e-6,
        "cases": [
            {"name": "running", "ring_c": 250, "head_c": 170},
            {"name": "overheated", "ring_c": 250, "head_c": 250},
        ],
    },
)


@router.post("/running-fit", **PAGE)
def running_fit(fields: RequestFields) -> Response:
    """I(T) = I₂₀ + d·[α_r·(T_r − 20) − α_h·(T_h − 20)]; negative is clearance."""
    diameter = fields.length("diameter", DIAMETER)
    interference = fields.length("interference", FIT)
    ring_alpha = fields.number("ring_alpha_per_k", ALPHA)
    head_alpha = fields.number("head_alpha_per_k", ALPHA)
    cases = [
        Case(
            name=case.text("name"),
            ring_c=case.number("ring_c", TEMPERATURE),
            head_c=case.number("head_c", TEMPERATURE),
            ring_alpha_per_k=ring_alpha,
            head_alpha_per_k=head_alpha,
        )
        for case in fields.groups("cases")
    ]
    fields.close()
    result = work_running_fit(
        diameter=diameter, interference=interference, cases=cases, unit=fields.unit
    )
    return answered(
        result,
        {
            "cases": [
                {
                    "name": one.name,
                    "interference": length_out(one.interference),
                    "change": length_out(one.change),
                }
                for one in result.cases
            ]
        },
    )
