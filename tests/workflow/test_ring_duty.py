"""A ring's material is questioned by what it has to do, and never forbidden."""

from __future__ import annotations

import doctest

import pytest

from app.calc.materials import RING_MATERIALS
from app.workflow import ring_duty
from app.workflow.ring_duty import Fuel, duty_of, duty_questions, fuels_of
from app.workflow.words import Kind, Material

IRON, ALUMINIUM = Material.GREY_IRON, Material.ALUMINIUM
EXHAUST, INTAKE = Kind.EXHAUST, Kind.INTAKE


def asked(
    family: str, head: Material | None = ALUMINIUM, kind: Kind = EXHAUST, fuel: str = "petrol"
) -> set[str]:
    name = RING_MATERIALS[family].words if family else ""
    return {one.key for one in duty_questions(family, name, duty_of(head, [kind], fuel))}


@pytest.mark.parametrize(
    ("typed", "fuels"),
    [
        ("LPG", {Fuel.DRY_GAS}),
        ("natural gas", {Fuel.DRY_GAS}),
        ("petrol and gas", {Fuel.PETROL, Fuel.DRY_GAS}),
        ("Diesel", {Fuel.DIESEL}),
        ("gasoline", {Fuel.PETROL}),
        ("gas oil", {Fuel.DIESEL}),
        ("natural gas, diesel pilot", {Fuel.DRY_GAS, Fuel.DIESEL}),
        ("", set()),
        ("whatever is in the tank", set()),
    ],
)
def test_a_typed_fuel_is_known_by_its_words(typed: str, fuels: set[Fuel]) -> None:
    assert fuels_of(typed) == fuels


def test_beryllium_copper_is_asked_about_in_iron_alone() -> None:
    assert asked("beryllium_copper", IRON) == {"beryllium_in_iron"}
    assert asked("beryllium_copper", Material.DUCTILE_IRON, INTAKE) == {"beryllium_in_iron"}
    assert asked("beryllium_copper", ALUMINIUM) == set()
    assert asked("beryllium_copper", None) == set()


@pytest.mark.parametrize("family", ["nickel_iron", "bronze", "stainless", "sintered_copper"])
def test_a_ring_that_grows_more_than_iron_is_asked_about_there(family: str) -> None:
    assert "grows_in_iron" in asked(family, IRON)
    assert "grows_in_iron" not in asked(family, ALUMINIUM)


@pytest.mark.parametrize("family", ["grey_iron", "ductile_iron", "bronze", "sintered"])
def test_dry_gas_asks_of_soft_and_sintered_rings(family: str) -> None:
    assert "dry_gas" in asked(family, fuel="LPG")
    assert "dry_gas" in asked(family, kind=INTAKE, fuel="petrol and gas")
    assert "dry_gas" not in asked(family, fuel="petrol")


@pytest.mark.parametrize("family", ["tool_steel", "hot_work_steel", "cobalt", "chromium_steel"])
def test_hard_rings_are_asked_nothing_of_dry_gas(family: str) -> None:
    assert asked(family, IRON, fuel="natural gas") == set()


def test_plain_iron_is_asked_about_at_an_exhaust_valve() -> None:
    assert asked("grey_iron", IRON) == {"plain_iron_exhaust"}
    assert asked("grey_iron", IRON, INTAKE) == set()


def test_soft_rings_in_a_diesel_are_asked_about() -> None:
    assert "soft_in_diesel" in asked("bronze", ALUMINIUM, fuel="diesel")
    assert asked("tool_steel", IRON, fuel="diesel") == set()


@pytest.mark.parametrize("family", ["", "unknown"])
def test_rings_of_unknown_metal_are_asked_about_with_dry_gas(family: str) -> None:
    assert asked(family, fuel="biogas") == {"material_for_dry_gas"}
    assert asked(family, fuel="petrol") == set()


@pytest.mark.parametrize("family", sorted(RING_MATERIALS))
def test_every_question_is_a_question_with_a_source(family: str) -> None:
    for fuel in ("petrol", "diesel", "LPG"):
        for head in (IRON, ALUMINIUM):
            duty = duty_of(head, [EXHAUST], fuel)
            for one in duty_questions(family, RING_MATERIALS[family].words, duty):
                assert "?" in one.words
                assert one.source


def test_its_examples_hold() -> None:
    assert doctest.testmod(ring_duty).failed == 0
