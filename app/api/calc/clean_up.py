"""POST /api/calc/clean-up: whether the old pocket cleans up."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered, length_out
from app.api.calc.schema import BOOLEAN, LENGTH, LENGTH_OUT, page
from app.calc.cleanup import clean_up as work_clean_up
from app.calc.quantities import ALLOWANCE, DIAMETER

router = APIRouter(route_class=CalcRoute)

PAGE = page(
    "Whether a bore cleans up the old pocket",
    request={
        "target_bore": LENGTH,
        "old_bore_max": LENGTH,
        "old_run_out": LENGTH,
        "stock": LENGTH,
    },
    answer={"cleans_up": BOOLEAN, "spare": LENGTH_OUT},
    example={
        "target_bore": "1.6321 in",
        "old_bore_max": "1.6150 in",
        "old_run_out": ".006 in",
        "stock": ".001 in",
    },
)


@router.post("/clean-up", **PAGE)
def clean_up(fields: RequestFields) -> Response:
    """All of the old pocket must go: (B − B_old)/2 ≥ TIR/2 + stock."""
    target_bore = fields.length("target_bore", DIAMETER)
    old_bore_max = fields.length("old_bore_max", DIAMETER)
    old_run_out = fields.length("old_run_out", ALLOWANCE)
    stock = fields.length("stock", ALLOWANCE)
    fields.close()
    result = work_clean_up(
        target_bore=target_bore,
        old_bore_max=old_bore_max,
        old_run_out=old_run_out,
        stock=stock,
        unit=fields.unit,
    )
    return answered(result, {"cleans_up": result.cleans_up, "spare": length_out(result.spare)})
