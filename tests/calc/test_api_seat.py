"""The seat's land over HTTP."""

import pytest

from tests.calc.api_client import refused_fields, worked

ASKED = {"unit": "mm", "outer": 34.8, "inner": 32.4, "seat_angle_deg": 45}


def test_it_works():
    """sympy: (34.8 − 32.4)/(2·cos 45°) = 1.69705627."""
    answer = worked("seat", **ASKED)
    assert answer["width"]["mm"] == "1.697056"
    assert answer["width_projected"]["nm"] == answer["axial_height"]["nm"] == 1_200_000
    assert answer["new_diameter"] is None
    assert answer["new_width"] is None


@pytest.mark.parametrize(
    ("cutter", "new_diameter"), [(30, 34_800_000 - 473_205), (60, 32_400_000 + 273_205)]
)
def test_a_flatter_cutter_moves_the_outer_and_a_steeper_the_inner(cutter, new_diameter):
    answer = worked("seat", **ASKED, cutter_angle_deg=cutter, sink="0.1")
    assert answer["new_diameter"]["nm"] == new_diameter
    assert answer["new_width"]["nm"] < answer["width"]["nm"]


def test_a_30_degree_seat_is_wider_projected_than_it_is_high():
    answer = worked("seat", **{**ASKED, "seat_angle_deg": 30})
    assert answer["width"]["nm"] == 1_385_641
    assert answer["axial_height"]["nm"] == 692_820


def test_a_cutter_that_only_touches_is_worked():
    answer = worked("seat", **ASKED, cutter_angle_deg=30, sink=0)
    assert answer["new_diameter"]["nm"] == 34_800_000
    assert answer["new_width"] == answer["width"]


def test_nulls_are_no_cutter():
    assert worked("seat", **ASKED, cutter_angle_deg=None, sink=None) == worked("seat", **ASKED)


@pytest.mark.parametrize("angle", [5e-324, 1e-9, 89.99999999999999])
def test_the_ends_of_the_angles_are_worked(angle: float):
    assert worked("seat", **{**ASKED, "seat_angle_deg": angle})["width"]["nm"] >= 1_200_000


@pytest.mark.parametrize(
    ("change", "fields"),
    [
        ({"inner": 34.8}, ["inner"]),
        ({"inner": 9.9}, ["inner"]),
        ({"outer": 151}, ["outer"]),
        ({"outer": None}, ["outer"]),
        ({"seat_angle_deg": 0}, ["seat_angle_deg"]),
        ({"seat_angle_deg": 90}, ["seat_angle_deg"]),
        ({"seat_angle_deg": "45"}, ["seat_angle_deg"]),
        ({"seat_angle_deg": None}, ["seat_angle_deg"]),
        ({"cutter_angle_deg": 30}, ["sink"]),
        ({"sink": 0.1}, ["cutter_angle_deg"]),
        ({"cutter_angle_deg": 45, "sink": 0.1}, ["cutter_angle_deg"]),
        ({"cutter_angle_deg": 45.0, "sink": 0}, ["cutter_angle_deg"]),
        ({"cutter_angle_deg": 90, "sink": 0.1}, ["cutter_angle_deg"]),
        ({"cutter_angle_deg": 30, "sink": -0.1}, ["sink"]),
        ({"cutter_angle_deg": 30, "sink": 5.1}, ["sink"]),
        ({"cutter_angle_deg": 30, "sink": 0.51}, ["sink"]),
        ({"cutter_angle_deg": 60, "sink": 0.88}, ["sink"]),
        ({"cutter_angle_deg": 45.00000000000001, "sink": 0.1}, ["sink"]),
        ({"width": 1}, ["width"]),
    ],
)
def test_a_wrong_request_names_its_field(change: dict, fields: list[str]):
    assert refused_fields("seat", **{**ASKED, **change}) == fields
