"""The spindle question over HTTP."""

import pytest

from tests.calc.api_client import refused_fields, worked

ASKED = {"diameter": "20 mm", "surface_speed": {"value": 35, "unit": "m/min"}}


def test_it_works_and_is_not_rounded():
    """Published table of n = 1000v/(πd) at 20 mm."""
    assert worked("spindle", **ASKED)["rpm"] == pytest.approx(557.0423, abs=1e-4)


def test_feet_per_minute_are_understood():
    answer = worked("spindle", diameter=".5", surface_speed={"value": 300, "unit": "ft/min"})
    assert answer["rpm"] == pytest.approx(2291.831, abs=1e-3)


@pytest.mark.parametrize(
    ("change", "fields"),
    [
        ({"diameter": "9.999 mm"}, ["diameter"]),
        ({"surface_speed": 35}, ["surface_speed"]),
        ({"surface_speed": None}, ["surface_speed"]),
        ({"surface_speed": {"value": 0, "unit": "m/min"}}, ["surface_speed.value"]),
        ({"surface_speed": {"value": 10_000.1, "unit": "m/min"}}, ["surface_speed.value"]),
        ({"surface_speed": {"value": "35", "unit": "m/min"}}, ["surface_speed.value"]),
        ({"surface_speed": {"value": True, "unit": "m/min"}}, ["surface_speed.value"]),
        ({"surface_speed": {"value": 35, "unit": "m/s"}}, ["surface_speed.unit"]),
        ({"surface_speed": {"value": 35}}, ["surface_speed.unit"]),
        ({"surface_speed": {"value": 10**399, "unit": "m/min"}}, ["surface_speed.value"]),
    ],
)
def test_a_wrong_request_names_its_field(change: dict, fields: list[str]):
    assert refused_fields("spindle", **{**ASKED, **change}) == fields
