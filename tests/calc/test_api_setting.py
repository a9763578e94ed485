"""POST /api/calc/setting."""

from typing import Any

import pytest

from tests.calc.api_client import refused_fields, worked

ACROSS: dict[str, Any] = {
    "target_bore": "1.62215",
    "overcut": ".0003",
    "fixture": "across_pilot",
    "pilot": ".3432",
    "resolution": ".0001",
}


@pytest.mark.parametrize(
    ("fixture", "reading", "expected", "per_division"),
    [
        ("diameter", "1.6218", "1.6221", "0.0001"),
        ("radius", "0.8109", "1.6221", "0.0002"),
        ("across_pilot", "0.9825", "1.6221", "0.0002"),
    ],
)
def test_each_fixture_reads_down_to_its_division(fixture, reading, expected, per_division):
    found = worked("setting", **{**ACROSS, "fixture": fixture})
    assert found["set_size"] == {"nm": 41_194_990, "in": "1.62185", "mm": "41.19499"}
    assert found["reading"]["in"] == reading
    assert found["expected_bore"]["in"] == expected
    assert found["bore_per_division"]["in"] == per_division


def test_without_an_overcut_the_target_is_set():
    found = worked("setting", target_bore="41.12 mm", fixture="radius", resolution="0.01 mm")
    assert found["set_size"]["mm"] == "41.12"
    assert found["reading"]["mm"] == "20.56"


def test_a_tip_that_cuts_small_is_set_large():
    found = worked("setting", **{**ACROSS, "overcut": "-.0005", "fixture": "diameter"})
    assert found["set_size"]["in"] == "1.62265"


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"pilot": None}, "pilot"),
        ({"pilot": "1.0"}, "pilot"),
        ({"fixture": None}, "fixture"),
        ({"fixture": "Diameter"}, "fixture"),
        ({"resolution": None}, "resolution"),
        ({"resolution": 0}, "resolution"),
        ({"resolution": "0.00009 mm"}, "resolution"),
        ({"overcut": ".02"}, "overcut"),
        ({"target_bore": "9.999999 mm"}, "target_bore"),
        ({"target_bore": "-1.6"}, "target_bore"),
        ({"achieved": "1.6"}, "achieved"),
    ],
)
def test_what_cannot_be_set_is_refused_by_its_field(changed: dict[str, Any], field: str):
    assert refused_fields("setting", **{**ACROSS, **changed}) == [field]
