"""The fit at other temperatures over HTTP."""

import pytest

from tests.calc.api_client import refused_fields, worked

ASKED = {
    "diameter": "1.625 in",
    "interference": ".007 in",
    "ring_alpha_per_k": 11.8e-6,
    "head_alpha_per_k": 22e-6,
    "cases": [
        {"name": "hot soak", "ring_c": 200, "head_c": 200},
        {"name": "running", "ring_c": 250, "head_c": 170},
    ],
}


def test_it_works_in_the_order_asked():
    """Computed trade figures, aluminium .007: a 200 °C soak leaves .0040 (consistency)."""
    soak, running = worked("running-fit", **ASKED)["cases"]
    assert soak["name"] == "hot soak"
    assert soak["change"]["nm"] == -75_781
    assert soak["interference"] == {"nm": 102_019, "in": "0.0040165", "mm": "0.102019"}
    assert running["change"]["nm"] == pytest.approx(-0.95 * 25_400, abs=800)


def test_clearance_is_negative():
    case = {"name": "far too hot", "ring_c": 20, "head_c": 400}
    answer = worked("running-fit", **{**ASKED, "cases": [case]})
    assert answer["cases"][0]["interference"]["nm"] < 0


def test_at_twenty_degrees_nothing_changes():
    case = {"name": "cold", "ring_c": 20, "head_c": 20}
    answer = worked("running-fit", **{**ASKED, "cases": [case]})["cases"][0]
    assert (answer["interference"]["in"], answer["change"]["nm"]) == ("0.007", 0)


def test_millimetres_are_understood():
    metric = {**ASKED, "unit": "mm", "diameter": 41.275, "interference": "0.1778"}
    assert worked("running-fit", **metric)["cases"] == worked("running-fit", **ASKED)["cases"]


def test_a_thousand_cases_are_worked():
    answer = worked("running-fit", **{**ASKED, "cases": ASKED["cases"] * 500})
    assert len(answer["cases"]) == 1000


@pytest.mark.parametrize(
    ("change", "fields"),
    [
        ({"diameter": "9.99 mm"}, ["diameter"]),
        ({"interference": "-.001"}, ["interference"]),
        ({"interference": "1.001 mm"}, ["interference"]),
        ({"ring_alpha_per_k": 11.8}, ["ring_alpha_per_k"]),
        ({"ring_alpha_per_k": None}, ["ring_alpha_per_k"]),
        ({"head_alpha_per_k": -1e-9}, ["head_alpha_per_k"]),
        ({"head_alpha_per_k": "22e-6"}, ["head_alpha_per_k"]),
        ({"cases": []}, ["cases"]),
        ({"cases": {}}, ["cases"]),
        ({"cases": [None]}, ["cases[0]"]),
        ({"cases": ASKED["cases"] * 501}, ["cases"]),
        ({"cases": [{"name": "a", "ring_c": 20}]}, ["cases[0].head_c"]),
        ({"cases": [{"name": " ", "ring_c": 20, "head_c": 20}]}, ["cases[0].name"]),
        (
            {"cases": [{"name": "a", "ring_c": 1200.1, "head_c": -274}]},
            ["cases[0].ring_c", "cases[0].head_c"],
        ),
        ({"cases": [{"name": "a", "ring_c": 20, "head_c": 20, "gas_c": 900}]}, ["cases[0].gas_c"]),
        ({"ring_od": "1.6"}, ["ring_od"]),
    ],
)
def test_a_wrong_request_names_its_field(change: dict, fields: list[str]):
    assert refused_fields("running-fit", **{**ASKED, **change}) == fields
