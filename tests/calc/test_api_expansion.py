"""The shrink by a curve over HTTP."""

import pytest

from tests.calc.api_client import refused_fields, worked


def test_it_works_in_kelvin():
    """NIST cryogenic material properties (2000)."""
    answer = worked("expansion", curve="304", temperature_k=77)
    assert answer["change_1e5"] == pytest.approx(-279.890, abs=5e-4)


def test_celsius_is_the_same_question():
    in_c = worked("expansion", curve="6061", temperature_c=-20)
    in_k = worked("expansion", curve="6061", temperature_k=253.15)
    assert in_c["change_1e5"] == in_k["change_1e5"] == pytest.approx(-89.641, abs=5e-4)


def test_a_null_temperature_is_not_given():
    answer = worked("expansion", curve="be_cu", temperature_c=None, temperature_k=4)
    assert answer["change_1e5"] == -316.68


@pytest.mark.parametrize(
    "asked",
    [
        {"curve": "304", "temperature_c": 26.85},
        {"curve": "304", "temperature_c": -269.15},
        {"curve": "304", "temperature_k": 300},
        {"curve": "9_ni_steel", "temperature_c": -8.15},
        {"curve": "9_ni_steel", "temperature_k": 265},
    ],
)
def test_the_ends_of_a_curve_belong_to_it(asked: dict):
    assert worked("expansion", **asked)["change_1e5"]


@pytest.mark.parametrize(
    ("asked", "fields"),
    [
        ({"curve": "304"}, ["temperature_c"]),
        ({"curve": "304", "temperature_c": 20, "temperature_k": 293}, ["temperature_k"]),
        ({"curve": "304", "temperature_k": 3.99}, ["temperature_k"]),
        ({"curve": "304", "temperature_k": 300.01}, ["temperature_k"]),
        ({"curve": "304", "temperature_c": 26.86}, ["temperature_c"]),
        ({"curve": "304", "temperature_c": -269.16}, ["temperature_c"]),
        ({"curve": "304", "temperature_c": -274}, ["temperature_c"]),
        ({"curve": "9_ni_steel", "temperature_k": 265.1}, ["temperature_k"]),
        ({"curve": "9_ni_steel", "temperature_c": 20}, ["temperature_c"]),
        ({"curve": "304", "temperature_k": "77"}, ["temperature_k"]),
        ({"curve": "304", "temperature_k": True}, ["temperature_k"]),
        ({"curve": "M2", "temperature_k": 77}, ["curve"]),
        ({"curve": 304, "temperature_k": 77}, ["curve"]),
        ({"temperature_k": 77}, ["curve"]),
    ],
)
def test_a_wrong_request_names_its_field(asked: dict, fields: list[str]):
    assert refused_fields("expansion", **asked) == fields
