"""POST /api/calc/verify: the interference got, its possible error and the verdict."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered, length_out
from app.api.calc.schema import LENGTH, LENGTH_OUT, NUMBER, many, one_of, page, record
from app.calc.decision import DecisionRule, Verdict
from app.calc.materials import REFERENCE_C, HeadMaterial
from app.calc.quantities import ALLOWANCE, DIAMETER, FIT, TEMPERATURE
from app.calc.verify import verify as work_verify

router = APIRouter(route_class=CalcRoute)

LENGTHS_OUT = (
    "interference",
    "interference_least",
    "interference_most",
    "uncertainty",
    "accept_low",
    "accept_high",
    "bore_spread",
)
PAGE = page(
    "The interference that was got, and whether it stands",
    request={
        "ring_od": many(LENGTH),
        "bore": many(LENGTH),
        "interference": record({"min": LENGTH, "max": LENGTH}),
        "ring_uncertainty": LENGTH,
        "bore_uncertainty": LENGTH,
        "decision_rule": one_of(DecisionRule),
        "head_material": one_of(HeadMaterial),
        "bore_temperature_c": {**NUMBER, "default": REFERENCE_C},
        "gauge_temperature_c": {**NUMBER, "default": REFERENCE_C},
    },
    optional=("head_material", "bore_temperature_c", "gauge_temperature_c"),
    answer={**dict.fromkeys(LENGTHS_OUT, LENGTH_OUT), "verdict": one_of(Verdict)},
    example={
        "ring_od": ["1.6262 in", "1.6260 in", "1.6261 in", "1.6263 in"],
        "bore": ["1.6222 in", "1.6221 in"],
        "interference": {"min": ".003 in", "max": ".005 in"},
        "ring_uncertainty": ".0002 in",
        "bore_uncertainty": ".0003 in",
        "decision_rule": "iso_14253_1_2017",
    },
)


@router.post("/verify", **PAGE)
def verify(fields: RequestFields) -> Response:
    """Mean ring OD − mean bore at 20 °C, judged on the means; every end belongs to its part."""
    ring_od = fields.lengths("ring_od", DIAMETER)
    bore = fields.lengths("bore", DIAMETER)
    window = fields.group("interference")
    least, most = window.length("min", FIT), window.length("max", FIT)
    ring_uncertainty = fields.length("ring_uncertainty", ALLOWANCE)
    bore_uncertainty = fields.length("bore_uncertainty", ALLOWANCE)
    decision_rule = fields.choice("decision_rule", DecisionRule)
    head_material = fields.optional_choice("head_material", HeadMaterial)
    bore_temperature_c = fields.number_or("bore_temperature_c", TEMPERATURE, REFERENCE_C)
    gauge_temperature_c = fields.number_or("gauge_temperature_c", TEMPERATURE, REFERENCE_C)
    fields.close()
    result = work_verify(
        ring_od=ring_od,
        bore=bore,
        interference_min=least,
        interference_max=most,
        ring_uncertainty=ring_uncertainty,
        bore_uncertainty=bore_uncertainty,
        decision_rule=decision_rule,
        head_material=head_material,
        bore_temperature_c=bore_temperature_c,
        gauge_temperature_c=gauge_temperature_c,
        unit=fields.unit,
    )
    lengths = {name: length_out(getattr(result, name)) for name in LENGTHS_OUT}
    return answered(result, {**lengths, "verdict": result.verdict.value})
