"""Limits of measuring and cutting that a shop may set: what the bench is told follows them."""

from __future__ import annotations

import pytest

from app.calc.units import Length
from app.models.crib import Pilot
from app.workflow.shop_rules import RULES, ShopRules
from app.workflow.words import Material
from app.worksheets.facts import load_sheet
from app.worksheets.head_doubts import guide_doubts, stem_doubts
from app.worksheets.pilots import pilot_fit
from app.worksheets.spindle import spindle_hint
from tests.services.floor import Floor

DEFAULT = ShopRules({})


def held(**values: str) -> ShopRules:
    return ShopRules({key: (value, "Odile") for key, value in values.items()})


@pytest.mark.parametrize(
    "key", ["stems_apart", "guides_apart", "pilot_loose", "speed_iron_slowest"]
)
def test_each_has_a_source_and_a_mark(key: str) -> None:
    assert RULES[key].cited == "common practice"


def test_how_far_a_stem_height_stands_apart_is_the_shops_rule(floor: Floor) -> None:
    floor.hands.later(minutes=1)
    floor.hands.stem_heights(floor.head, {"1E": "1.880"})
    with floor.database.read() as session:
        ports = load_sheet(session, floor.head).rows.ports
    assert stem_doubts(ports, DEFAULT) == ()
    [doubt] = stem_doubts(ports, held(stems_apart=".020 in"))
    assert (doubt.label, doubt.others) == ("1E", "the other exhausts")


def test_how_far_a_guide_bore_stands_apart_is_the_shops_rule(floor: Floor) -> None:
    floor.hands.later(minutes=1)
    floor.hands.guide_bores(floor.head, {"1E": ".3480"})
    with floor.database.read() as session:
        ports = load_sheet(session, floor.head).rows.ports
    assert guide_doubts(ports, DEFAULT) == ()
    assert [each.label for each in guide_doubts(ports, held(guides_apart=".002 in"))] == ["1E"]


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_when_a_pilot_is_loose_is_the_shops_rule(floor: Floor) -> None:
    with floor.database.read() as session:
        sheet = load_sheet(session, floor.head)
        pilot = session.get_one(Pilot, floor.pilot.id)
    targets = list(sheet.targets.values())
    assert pilot_fit(pilot, targets, DEFAULT, "in").is_close
    loose = pilot_fit(pilot, targets, held(pilot_loose=".0003 in"), "in")
    assert not loose.is_close
    assert loose.told("in").startswith("loose: .0004 clear")


def test_the_spindle_line_goes_by_the_shops_surface_speeds() -> None:
    bore = Length.of("1.6222")
    iron = spindle_hint(Material.GREY_IRON, bore, DEFAULT, "in")
    assert iron is not None
    assert (
        iron.told == "60–150 ft/min in grey iron, common practice; the makers' figures come first"
    )
    mine = held(speed_iron_slowest="80", speed_iron_fastest="120")
    own = spindle_hint(Material.GREY_IRON, bore, mine, "in")
    assert own is not None
    # 12·80/(π·1.6222) = 188 and 12·120/(π·1.6222) = 283, in steps of ten.
    assert (own.rpm_low, own.rpm_high) == (190, 280)
    assert "80–120 ft/min in grey iron, Odile" in own.told
    assert spindle_hint(Material.ALUMINIUM, bore, mine, "in") == spindle_hint(
        Material.ALUMINIUM, bore, DEFAULT, "in"
    )
