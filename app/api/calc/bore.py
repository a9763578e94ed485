"""POST /api/calc/bore: from the measured ring to target bore and depth."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app.api.calc.answers import CalcRoute, RequestFields, answered, length_out
from app.api.calc.fields import Fields
from app.api.calc.schema import (
    INTERFERENCE_AIM_OPTIONAL,
    LENGTH,
    LENGTH_OUT,
    NUMBER,
    STRING,
    listed,
    many,
    nullable,
    one_of,
    page,
    record,
)
from app.calc.bore import counterbore
from app.calc.depth import Datum
from app.calc.label import LabelMeans
from app.calc.materials import REFERENCE_C, HeadMaterial
from app.calc.quantities import ALLOWANCE, ALPHA, DIAMETER, FIT, HEIGHT, PROTRUSION, TEMPERATURE
from app.calc.rules import Interference
from app.calc.rules import interference as window_of
from app.calc.sources import GIVEN
from app.calc.units import Length

router = APIRouter(route_class=CalcRoute)
NOTHING = Length(0)

PAGE = page(
    "Target bore, its window and depth for a measured ring",
    request={
        "head_material": one_of(HeadMaterial),
        "ring_od": many(LENGTH),
        "ring_height": many(LENGTH),
        "interference": INTERFERENCE_AIM_OPTIONAL,
        "protrusion": LENGTH,
        "deck_stock": LENGTH,
        "label_od": LENGTH,
        "label_means": one_of(LabelMeans),
        "ring_temperature_c": NUMBER,
        "ring_alpha_per_k": NUMBER,
        "gauge_temperature_c": NUMBER,
    },
    optional=(
        "interference",
        "protrusion",
        "deck_stock",
        "label_od",
        "label_means",
        "ring_temperature_c",
        "ring_alpha_per_k",
        "gauge_temperature_c",
    ),
    answer={
        "ring_od": LENGTH_OUT,
        "ring_od_spread": LENGTH_OUT,
        "ring_height": LENGTH_OUT,
        "target_bore": LENGTH_OUT,
        "bore_low": LENGTH_OUT,
        "bore_high": LENGTH_OUT,
        "depth": LENGTH_OUT,
        "label_difference": nullable(LENGTH_OUT),
        "rule": record({"min": LENGTH_OUT, "aim": LENGTH_OUT, "max": LENGTH_OUT, "source": STRING}),
        "questions": listed({"type": "string", "enum": ["built_in_interference", "od_spread"]}),
    },
    example={
        "head_material": "grey_iron",
        "ring_od": ["1.6262", "1.6260", "1.6261", "1.6263"],
        "ring_height": [".2500", ".2501", ".2499"],
        "label_od": "1 5/8 in",
    },
)


@router.post("/bore", **PAGE)
def bore(fields: RequestFields) -> Response:
    """B = mean OD − aim; depth = mean height − protrusion + deck stock; the label is only asked."""
    head_material = fields.choice("head_material", HeadMaterial)
    ring_od = fields.lengths("ring_od", DIAMETER)
    ring_height = fields.lengths("ring_height", HEIGHT)
    window = read_window(fields)
    protrusion = fields.length_or("protrusion", PROTRUSION, NOTHING)
    deck_stock = fields.length_or("deck_stock", ALLOWANCE, NOTHING)
    label_od = fields.optional_length("label_od", DIAMETER)
    label_means = fields.choice_or("label_means", LabelMeans, LabelMeans.UNKNOWN)
    ring_temperature_c = fields.number_or("ring_temperature_c", TEMPERATURE, REFERENCE_C)
    ring_alpha_per_k = fields.optional_number("ring_alpha_per_k", ALPHA)
    gauge_temperature_c = fields.number_or("gauge_temperature_c", TEMPERATURE, REFERENCE_C)
    fields.close()
    result = counterbore(
        head_material=head_material,
        ring_od=ring_od,
        ring_height=ring_height,
        window=window,
        window_source=GIVEN,
        protrusion=protrusion,
        deck_stock=deck_stock,
        datum=Datum.DECK if deck_stock else None,
        label_od=label_od,
        label_means=label_means,
        ring_temperature_c=ring_temperature_c,
        ring_alpha_per_k=ring_alpha_per_k,
        gauge_temperature_c=gauge_temperature_c,
        unit=fields.unit,
    )
    return answered(
        result,
        {
            "ring_od": length_out(result.ring_od),
            "ring_od_spread": length_out(result.ring_od_spread),
            "ring_height": length_out(result.ring_height),
            "target_bore": length_out(result.target_bore),
            "bore_low": length_out(result.bore_low),
            "bore_high": length_out(result.bore_high),
            "depth": length_out(result.depth),
            "label_difference": length_out(result.label_difference),
            "rule": {
                "min": length_out(result.rule.least),
                "aim": length_out(result.rule.aim),
                "max": length_out(result.rule.most),
                "source": result.rule_source,
            },
            "questions": list(result.questions),
        },
    )


def read_window(fields: Fields) -> Interference | None:
    """The request's own window, or None for the default rule; its order is checked in place."""
    asked = fields.optional_group("interference")
    if asked is None:
        return None
    least = asked.length("min", FIT)
    most = asked.length("max", FIT)
    aim = asked.optional_length("aim", FIT)
    return asked.worked(lambda: window_of(least=least, aim=aim, most=most))
