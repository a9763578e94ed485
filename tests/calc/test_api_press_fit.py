"""The press fit over HTTP."""

import pytest

from tests.calc.api_client import refused_fields, worked

STEEL = {"e_gpa": 200, "nu": 0.3}
ASKED = {
    "unit": "mm",
    "interference": 0.1,
    "ring_id": 31,
    "ring_od": 38.1,
    "head_od": 70,
    "height": 7,
    "ring": STEEL,
    "head": {"e_gpa": 71, "nu": 0.33},
    "friction": [0.05, 0.10],
}


def test_it_works():
    """Figures of the finite-element model, scikit-fem: 48.8965 MPa, 90.06, −289.35."""
    answer = worked("press-fit", **ASKED)
    assert answer["pressure_mpa"] == pytest.approx(48.8965, abs=5e-4)
    assert answer["head_bore_hoop_mpa"] == pytest.approx(90.06, rel=2e-3)
    assert answer["ring_bore_hoop_mpa"] == pytest.approx(-289.35, rel=2e-3)
    assert answer["force_n"] == pytest.approx([2048, 4097], abs=1)
    assert answer["ring_id_closes_by"]["nm"] == pytest.approx(31e6 * 289.35 / 200e3, rel=2e-3)


def test_a_solid_plug_closes_by_nothing_and_stands_under_the_pressure_alone():
    """Shigley, problem 3-68, in MPa."""
    steel = {"e_gpa": 206.8427, "nu": 0.292}
    answer = worked(
        "press-fit",
        **{
            **ASKED,
            "unit": "in",
            "interference": ".002",
            "ring_id": 0,
            "ring_od": "1",
            "head_od": "2",
            "height": "1",
            "ring": steel,
            "head": steel,
        },
    )
    assert answer["pressure_mpa"] == pytest.approx(22_500 * 6.894757e-3, rel=1e-4)
    assert answer["ring_bore_hoop_mpa"] == -answer["pressure_mpa"]
    assert answer["ring_id_closes_by"]["nm"] == 0


@pytest.mark.parametrize(
    "change",
    [
        {"head_od": 500},
        {"interference": 0},
        {"friction": [0, 0]},
        {"friction": [1, 1]},
        {"ring": {"e_gpa": 1, "nu": 0}},
        {"head": {"e_gpa": 1000, "nu": 0.4999}},
        {"ring_id": "38.099999"},
        {"head_od": "38.100001"},
    ],
)
def test_the_ends_of_what_is_plausible_are_worked(change: dict):
    assert worked("press-fit", **{**ASKED, **change})["pressure_mpa"] >= 0


@pytest.mark.parametrize(
    ("change", "fields"),
    [
        ({"interference": -0.01}, ["interference"]),
        ({"ring_id": 9}, ["ring_id"]),
        ({"ring_id": 38.1}, ["ring_id"]),
        ({"ring_id": None}, ["ring_id"]),
        ({"head_od": 38.1}, ["head_od"]),
        ({"head_od": 501}, ["head_od"]),
        ({"height": 0}, ["height"]),
        ({"ring": None}, ["ring"]),
        ({"ring": 200}, ["ring"]),
        ({"ring": {"e_gpa": 0.9, "nu": 0.3}}, ["ring.e_gpa"]),
        ({"ring": {"e_gpa": "200", "nu": 0.3}}, ["ring.e_gpa"]),
        ({"head": {"e_gpa": 71, "nu": 0.5}}, ["head.nu"]),
        ({"head": {"e_gpa": 71}}, ["head.nu"]),
        ({"head": {"e_gpa": 71, "nu": 0.3, "yield": 200}}, ["head.yield"]),
        ({"friction": 0.1}, ["friction"]),
        ({"friction": [0.1]}, ["friction"]),
        ({"friction": [0.1, 0.2, 0.3]}, ["friction"]),
        ({"friction": [0.2, 0.1]}, ["friction"]),
        ({"friction": [0.1, 1.1]}, ["friction[1]"]),
        ({"friction": [None, 0.2]}, ["friction[0]"]),
        ({"friction": [True, 0.2]}, ["friction[0]"]),
        ({"ring_height": 7}, ["ring_height"]),
    ],
)
def test_a_wrong_request_names_its_field(change: dict, fields: list[str]):
    assert refused_fields("press-fit", **{**ASKED, **change}) == fields
