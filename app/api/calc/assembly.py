"""POST /api/calc/assembly: whether a chilled ring drops into a warm head."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered, length_out
from app.api.calc.schema import LENGTH, LENGTH_OUT, NUMBER, nullable, one_of, page, record
from app.calc.assembly import Way
from app.calc.assembly import assembly as work_assembly
from app.calc.expansion import Curve
from app.calc.quantities import ALPHA, DIAMETER, FIT, TEMPERATURE

router = APIRouter(route_class=CalcRoute)

RING = record({"curve": one_of(Curve), "alpha_per_k": NUMBER}, optional=("curve", "alpha_per_k"))
PAGE = page(
    "Clearance of a cold ring over a warm bore; the ring by a curve or a coefficient",
    request={
        "diameter": LENGTH,
        "interference": LENGTH,
        "ring": RING,
        "head_alpha_per_k": NUMBER,
        "ring_c": NUMBER,
        "head_c": NUMBER,
        "clearance_wanted": LENGTH,
    },
    answer={
        "ring_shrinks_by": LENGTH_OUT,
        "head_grows_by": LENGTH_OUT,
        "clearance": LENGTH_OUT,
        "way": one_of(Way),
        "head_c_needed": nullable(NUMBER),
    },
    example={
        "diameter": "1.625 in",
        "interference": ".007 in",
        "ring": {"curve": "9_ni_steel"},
        "head_alpha_per_k": 22e-6,
        "ring_c": -78.5,
        "head_c": 120,
        "clearance_wanted": ".001 in",
    },
)


@router.post("/assembly", **PAGE)
def assembly(fields: RequestFields) -> Response:
    """Clearance = shrink + growth − interference; the temperature needed is not capped."""
    diameter = fields.length("diameter", DIAMETER)
    interference = fields.length("interference", FIT)
    ring = fields.group("ring")
    curve = ring.optional_choice("curve", Curve)
    alpha = ring.optional_number("alpha_per_k", ALPHA)
    if (curve is None) == (alpha is None):
        ring.refuse_whole("needs a curve or alpha_per_k, one of them")
    head_alpha = fields.number("head_alpha_per_k", ALPHA)
    ring_c = fields.number("ring_c", TEMPERATURE)
    head_c = fields.number("head_c", TEMPERATURE)
    clearance_wanted = fields.length("clearance_wanted", FIT)
    fields.close()
    result = work_assembly(
        diameter=diameter,
        interference=interference,
        curve=curve,
        alpha_per_k=alpha,
        head_alpha_per_k=head_alpha,
        ring_c=ring_c,
        head_c=head_c,
        clearance_wanted=clearance_wanted,
        unit=fields.unit,
    )
    return answered(
        result,
        {
            "ring_shrinks_by": length_out(result.ring_shrinks_by),
            "head_grows_by": length_out(result.head_grows_by),
            "clearance": length_out(result.clearance),
            "way": result.way.value,
            "head_c_needed": result.head_c_needed,
        },
    )
