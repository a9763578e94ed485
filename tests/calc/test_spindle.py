"""Spindle speed, against printed speed tables."""

import pytest

from app.calc.errors import CalculationError
from app.calc.spindle import SpeedUnit, spindle_speed
from app.calc.units import Length

CHECKS = {
    "spindle_speed": "published table of n = 1000v/(πd) at 20 mm: 35, 60 and 335 m/min, rounded "
    "to 560, 960 and 5300 rev/min"
}

FEET, METRES = SpeedUnit.FEET_PER_MINUTE, SpeedUnit.METRES_PER_MINUTE


@pytest.mark.parametrize(("speed", "rpm"), [(35, 557), (60, 955), (335, 5332)])
def test_metric_speeds_give_the_printed_table(speed: float, rpm: int):
    found = spindle_speed(diameter=Length.of("20 mm"), surface_speed=speed, speed_unit=METRES)
    assert round(found.rpm) == rpm


def test_inch_speeds_use_pi_and_not_the_shop_formula():
    found = spindle_speed(diameter=Length.of(".5"), surface_speed=300, speed_unit=FEET)
    assert found.rpm == pytest.approx(2291.831, rel=1e-6)


@pytest.mark.parametrize(
    ("diameter", "feet", "rpm"),
    [("1.00", 50, 191), ("1.25", 150, 458), ("1.625", 200, 470), ("2.00", 400, 764)],
)
def test_the_trades_speed_card_agrees(diameter: str, feet: float, rpm: int):
    """Speed card by diameter and ft/min (computed, consistency only)."""
    found = spindle_speed(diameter=Length.of(diameter), surface_speed=feet, speed_unit=FEET)
    assert round(found.rpm) == rpm


def test_feet_and_metres_agree():
    feet = spindle_speed(diameter=Length.of("1.6"), surface_speed=100, speed_unit=FEET)
    metres = spindle_speed(diameter=Length.of("40.64 mm"), surface_speed=30.48, speed_unit=METRES)
    assert feet.rpm == metres.rpm


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"diameter": Length(0)}, "diameter"),
        ({"surface_speed": 0.0}, "surface_speed.value"),
        ({"surface_speed": float("nan")}, "surface_speed.value"),
    ],
)
def test_what_cannot_turn_is_refused(change: dict, field: str):
    asked = {"diameter": Length.of("20 mm"), "surface_speed": 35.0, "speed_unit": METRES}
    with pytest.raises(CalculationError) as refused:
        spindle_speed(**{**asked, **change})
    assert refused.value.field == field
