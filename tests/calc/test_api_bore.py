"""POST /api/calc/bore."""

from typing import Any

import pytest

from tests.calc.api_client import refused_fields, worked

RING: dict[str, Any] = {
    "head_material": "grey_iron",
    "ring_od": ["1.6262", "1.6260", "1.6261", "1.6263"],
    "ring_height": [".2500"],
}


def bore(**changed: Any) -> dict[str, Any]:
    return worked("bore", **{**RING, **changed})


def refused(**changed: Any) -> list[str]:
    return refused_fields("bore", **{**RING, **changed})


def test_a_ring_is_worked_by_the_default_rule():
    found = bore()
    assert found["ring_od"] == {"nm": 41_304_210, "in": "1.62615", "mm": "41.30421"}
    assert found["ring_od_spread"] == {"nm": 7_620, "in": "0.0003", "mm": "0.00762"}
    assert found["target_bore"]["in"] == "1.62215"
    assert (found["bore_low"]["in"], found["bore_high"]["in"]) == ("1.62115", "1.62315")
    assert found["depth"]["in"] == "0.25"
    assert [found["rule"][end]["in"] for end in ("min", "aim", "max")] == [
        "0.003",
        "0.004",
        "0.005",
    ]
    assert found["rule"]["source"].startswith("common practice")
    assert found["label_difference"] is None
    assert found["questions"] == []


def test_millimetres_by_the_requests_unit():
    found = bore(
        unit="mm",
        head_material="aluminium",
        ring_od=[41.30, "41,31", "41.30 mm", "41.29"],
        ring_height=["6.35", ".250 in"],
        interference={"min": "0.17", "aim": "0.18", "max": "0.20"},
    )
    assert found["target_bore"] == {"nm": 41_120_000, "in": "1.61889764", "mm": "41.12"}
    assert found["ring_height"]["mm"] == "6.35"
    assert found["rule"]["source"] == "as given"
    assert {step["unit"] for step in found["working"]} == {"mm", "thou/in"}


def test_an_aim_left_out_or_null_is_the_middle():
    for window in ({"min": ".002", "max": ".005"}, {"min": ".002", "max": ".005", "aim": None}):
        assert bore(interference=window)["rule"]["aim"]["in"] == "0.0035"


@pytest.mark.parametrize(
    ("means", "questions"),
    [
        (None, ["built_in_interference"]),
        ("unknown", ["built_in_interference"]),
        ("ring_od", ["built_in_interference"]),
        ("counterbore", []),
        ("unrelated", []),
    ],
)
def test_a_label_is_asked_about_but_never_worked_from(means: str | None, questions: list[str]):
    found = bore(label_od="1.6220", label_means=means)
    assert found["target_bore"]["in"] == "1.62215"
    assert found["label_difference"]["in"] == "0.00415"
    assert found["questions"] == questions


def test_an_oval_ring_is_asked_about():
    assert bore(ring_od=["1.6255", "1.6266"])["questions"] == ["od_spread"]


def test_depth_takes_protrusion_and_deck_stock():
    assert bore(protrusion=".002", deck_stock=".008")["depth"]["in"] == "0.256"
    assert bore(protrusion="-.010")["depth"]["in"] == "0.26"


def test_temperatures_bring_the_ring_to_20_degrees():
    # 1.62615 in × (1 + 11.5e-6 × 4) / (1 + 12e-6 × 8)
    found = bore(ring_temperature_c=28, ring_alpha_per_k=12e-6, gauge_temperature_c=24)
    assert found["ring_od"]["nm"] == round(41_304_210 * 1.000046 / 1.000096)
    assert found["ring_od_spread"]["in"] == "0.0003"


def test_a_gauge_alone_may_be_warm():
    assert bore(gauge_temperature_c=24)["ring_od"]["nm"] == round(41_304_210 * 1.000046)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"head_material": None}, "head_material"),
        ({"head_material": "bronze"}, "head_material"),
        ({"head_material": ["grey_iron"]}, "head_material"),
        ({"ring_od": None}, "ring_od"),
        ({"ring_od": []}, "ring_od"),
        ({"ring_od": "1.6262"}, "ring_od"),
        ({"ring_od": ["1.6262"] * 1001}, "ring_od"),
        ({"ring_od": ["1.6262", None]}, "ring_od[1]"),
        ({"ring_od": ["1.6262", True]}, "ring_od[1]"),
        ({"ring_od": ["1.6262", "41.3"]}, "ring_od[1]"),
        ({"ring_od": ["1.6262", "1.6e0"]}, "ring_od[1]"),
        ({"ring_height": ["0.03"]}, "ring_height[0]"),
        ({"interference": []}, "interference"),
        ({"interference": {}}, "interference.min"),
        ({"interference": {"min": ".003"}}, "interference.max"),
        ({"interference": {"min": ".005", "max": ".003"}}, "interference.min"),
        ({"interference": {"min": ".003", "aim": ".002", "max": ".004"}}, "interference.aim"),
        ({"interference": {"min": ".003", "max": ".05"}}, "interference.max"),
        ({"interference": {"min": "-.001", "max": ".004"}}, "interference.min"),
        ({"interference": {"min": ".003", "max": ".004", "best": 1}}, "interference.best"),
        ({"protrusion": "0.4"}, "protrusion"),
        ({"protrusion": ".26"}, "protrusion"),
        ({"protusion": ".002"}, "protusion"),
        ({"protusion": None}, "protusion"),
        ({"deck_stock": "-.001"}, "deck_stock"),
        ({"label_od": "0.1"}, "label_od"),
        ({"label_means": "bore"}, "label_means"),
        ({"ring_temperature_c": "20"}, "ring_temperature_c"),
        ({"ring_temperature_c": True}, "ring_temperature_c"),
        ({"ring_temperature_c": -273.16}, "ring_temperature_c"),
        ({"ring_temperature_c": 25}, "ring_alpha_per_k"),
        ({"ring_alpha_per_k": 12}, "ring_alpha_per_k"),
        ({"ring_alpha_per_k": -1e-6}, "ring_alpha_per_k"),
        ({"gauge_temperature_c": 1201}, "gauge_temperature_c"),
        ({"unit": "cm"}, "unit"),
        ({"unit": 1}, "unit"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(changed: dict[str, Any], field: str):
    assert refused(**changed)[0] == field


def test_every_fault_is_listed_at_once():
    assert refused(ring_od=["x"], protrusion=True, extra=1) == ["ring_od[0]", "protrusion", "extra"]
