"""The pilot question over HTTP."""

import pytest

from tests.calc.api_client import refused_fields, worked

ASKED = {"guide_bore": ".3437", "pilot": ".3432", "guide_length": "2", "overhang": "1"}


def test_it_works():
    answer = worked("pilot", **ASKED)
    assert answer["clearance"]["in"] == "0.0005"
    assert answer["offset"]["nm"] == 12_700
    assert answer["run_out"] == {"nm": 25_400, "in": "0.001", "mm": "0.0254"}


def test_a_pilot_of_the_guides_size_has_no_run_out():
    assert worked("pilot", **{**ASKED, "pilot": ".3437"})["run_out"]["nm"] == 0


@pytest.mark.parametrize(
    ("change", "fields"),
    [
        ({"pilot": ".3438"}, ["pilot"]),
        ({"pilot": None}, ["pilot"]),
        ({"guide_bore": "8.73"}, ["guide_bore"]),
        ({"guide_length": "0"}, ["guide_length"]),
        ({"overhang": "0.9 mm"}, ["overhang"]),
        ({"overhang": "-1"}, ["overhang"]),
        ({"taper": "1"}, ["taper"]),
    ],
)
def test_a_wrong_request_names_its_field(change: dict, fields: list[str]):
    assert refused_fields("pilot", **{**ASKED, **change}) == fields
