"""POST /api/calc/setting-plan."""

from typing import Any

import pytest

from tests.calc.api_client import refused_fields, worked

IRON = {"min": ".003", "aim": ".004", "max": ".005"}


def port(name: Any, ring_od: Any = "1.6261", **changed: Any) -> dict[str, Any]:
    whole = {"port": name, "ring_od": ring_od, "interference": IRON, "uncertainty": ".0002"}
    return {**whole, **changed}


def test_fewest_settings_by_rising_bore():
    found = worked(
        "setting-plan",
        ports=[port("3E", "1.6297"), port("1E"), port("2E", "1.6265")],
        repeatability=".0002",
    )
    assert [(one["bore"]["in"], one["ports"]) for one in found["settings"]] == [
        ("1.6223", ["1E", "2E"]),
        ("1.6257", ["3E"]),
    ]
    assert found["impossible"] == []


def test_a_position_that_no_bore_suits_is_named():
    found = worked("setting-plan", ports=[port("1E", uncertainty=".002")])
    assert found["settings"] == []
    assert found["impossible"] == ["1E"]


def test_a_thousand_positions_are_answered():
    many = [port(f"{n}", round(1.60 + n * 0.00005, 5)) for n in range(1000)]
    found = worked("setting-plan", ports=many)
    assert sum(len(one["ports"]) for one in found["settings"]) == 1000
    # A window of .0016 in holds 33 rings that rise by .00005 in.
    assert len(found["settings"]) == 31


@pytest.mark.parametrize(
    ("ports", "field"),
    [
        (None, "ports"),
        ([], "ports"),
        ([port("a")] * 1001, "ports"),
        ({"1E": port("1E")}, "ports"),
        ([port("1E"), 3], "ports[1]"),
        ([port("1E"), port("1E")], "ports[1].port"),
        ([port(1)], "ports[0].port"),
        ([port("")], "ports[0].port"),
        ([port(None)], "ports[0].port"),
        ([port("1\nE")], "ports[0].port"),
        ([port("E" * 201)], "ports[0].port"),
        ([port("1E", "41.3")], "ports[0].ring_od"),
        ([port("1E", interference=None)], "ports[0].interference"),
        ([port("1E", interference=4)], "ports[0].interference"),
        ([port("1E", interference={"min": ".003", "max": ".005"})], "ports[0].interference.aim"),
        ([port("1E", interference={**IRON, "min": ".0045"})], "ports[0].interference.aim"),
        ([port("1E", interference={**IRON, "min": ".0055"})], "ports[0].interference.min"),
        ([port("1E", interference={**IRON, "x": 1})], "ports[0].interference.x"),
        ([port("1E", uncertainty=None)], "ports[0].uncertainty"),
        ([port("1E", uncertainty="-.0001")], "ports[0].uncertainty"),
        ([port("1E", aim=".004")], "ports[0].aim"),
        ([port("1E", unit="mm")], "ports[0].unit"),
    ],
)
def test_what_cannot_be_planned_is_refused_by_its_field(ports: Any, field: str):
    assert refused_fields("setting-plan", ports=ports) == [field]


def test_a_repeatability_out_of_range_is_refused():
    assert refused_fields("setting-plan", ports=[port("1E")], repeatability="6 mm") == [
        "repeatability"
    ]
