"""POST /api/calc/press-fit: pressure, stresses, closing and force of a pressed ring."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered, length_out
from app.api.calc.fields import Fields
from app.api.calc.schema import LENGTH, LENGTH_OUT, NUMBER, listed, page, record
from app.calc.press_fit import Elastic, Parts
from app.calc.press_fit import press_fit as work_press_fit
from app.calc.quantities import (
    DIAMETER,
    FIT,
    FRICTION,
    HEAD_DIAMETER,
    HEIGHT,
    PLUG_OR_DIAMETER,
    POISSON,
    YOUNG,
)

router = APIRouter(route_class=CalcRoute)

ELASTIC = record({"e_gpa": NUMBER, "nu": NUMBER})
PAIR = {"type": "array", "items": NUMBER, "minItems": 2, "maxItems": 2}
STRESSES = ("pressure_mpa", "head_bore_hoop_mpa", "ring_od_hoop_mpa", "ring_bore_hoop_mpa")
PAGE = page(
    "Pressure, stresses and force of a press fit, two materials, plane stress",
    request={
        "interference": LENGTH,
        "ring_id": LENGTH,
        "ring_od": LENGTH,
        "head_od": LENGTH,
        "height": LENGTH,
        "ring": ELASTIC,
        "head": ELASTIC,
        "friction": PAIR,
    },
    answer={
        **dict.fromkeys(STRESSES, NUMBER),
        "ring_id_closes_by": LENGTH_OUT,
        "force_n": listed(NUMBER),
    },
    example={
        "interference": "0.1 mm",
        "ring_id": "31 mm",
        "ring_od": "38.1 mm",
        "head_od": "70 mm",
        "height": "7 mm",
        "ring": {"e_gpa": 200, "nu": 0.3},
        "head": {"e_gpa": 71, "nu": 0.33},
        "friction": [0.1, 0.2],
    },
)


@router.post("/press-fit", **PAGE)
def press_fit(fields: RequestFields) -> Response:
    """Lamé's thick rings; tension is positive, and in a solid plug the bore's stress is −p."""
    interference = fields.length("interference", FIT)
    parts = Parts(
        ring_id=fields.length("ring_id", PLUG_OR_DIAMETER),
        ring_od=fields.length("ring_od", DIAMETER),
        head_od=fields.length("head_od", HEAD_DIAMETER),
        ring=_elastic(fields.group("ring")),
        head=_elastic(fields.group("head")),
    )
    height = fields.length("height", HEIGHT)
    friction = fields.numbers("friction", FRICTION)
    if friction and len(friction) != 2:
        fields.refuse("friction", "must have two entries, the lower one first")
    fields.close()
    result = work_press_fit(
        interference=interference,
        parts=parts,
        height=height,
        friction_low=friction[0],
        friction_high=friction[1],
        unit=fields.unit,
    )
    return answered(
        result,
        {
            **{name: getattr(result, name) for name in STRESSES},
            "ring_id_closes_by": length_out(result.ring_id_closes_by),
            "force_n": list(result.force_n),
        },
    )


def _elastic(fields: Fields) -> Elastic:
    return Elastic(e_gpa=fields.number("e_gpa", YOUNG), nu=fields.number("nu", POISSON))
