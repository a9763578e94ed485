"""A ring's material against what it has to do: asked in words, never forbidden."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

from app.workflow.kinds import Said
from app.workflow.words import Kind, Material

COMMON = "usual uses of ring materials, textbooks and trade practice (from memory)"
NO_ONE_SAID = "common practice"


class Fuel(Said):
    """What an engine burns, as far as a seat ring feels it."""

    PETROL = "petrol"
    DIESEL = "diesel"
    DRY_GAS = "dry_gas", "dry gas"


@dataclass(frozen=True, slots=True)
class Duty:
    """What a ring is for: head metal, kinds of valve, fuels (several, or none where not said)."""

    head: Material | None
    kinds: frozenset[Kind]
    fuels: frozenset[Fuel]

    @property
    def is_exhaust(self) -> bool:
        """An exhaust valve is among them."""
        return Kind.EXHAUST in self.kinds


@dataclass(frozen=True, slots=True)
class DutyQuestion:
    """One thing to ask, and where it comes from."""

    key: str
    words: str
    source: str = COMMON


_GAS = re.compile(
    r"\b(?:lpg|cng|lng|autogas|bio-?gas|methane|propane|butane|hydrogen|gas(?! oil))\b",
    re.IGNORECASE,
)
_DIESEL = re.compile(r"\b(?:diesel|biodiesel|hvo|heating oil|fuel oil|gas oil)\b", re.IGNORECASE)
_PETROL = re.compile(r"\b(?:petrol|gasoline|benzine|ethanol|e85|alcohol|methanol)\b", re.IGNORECASE)


def fuels_of(typed: str) -> frozenset[Fuel]:
    """What a typed fuel says; nothing where it says nothing known.

    >>> sorted(fuels_of("petrol and gas")), fuels_of("gasoline"), fuels_of("")
    ([<Fuel.DRY_GAS: 'dry_gas'>, <Fuel.PETROL: 'petrol'>], frozenset({<Fuel.PETROL: 'petrol'>}), \
frozenset())
    """
    asked = ((_GAS, Fuel.DRY_GAS), (_DIESEL, Fuel.DIESEL), (_PETROL, Fuel.PETROL))
    return frozenset(fuel for pattern, fuel in asked if pattern.search(typed))


# By key of the ring material's family, as the tables name it.
_PLAIN_IRON = frozenset({"grey_iron", "ductile_iron"})
_SOFT = frozenset({"grey_iron", "ductile_iron", "nickel_iron", "bronze", "stainless"})
_SINTERED = frozenset({"sintered", "sintered_copper"})
_GROWS = frozenset({"nickel_iron", "bronze", "stainless", "sintered_copper", "beryllium_copper"})
_COPPER = frozenset({"bronze", "beryllium_copper"})
_NOT_SAID = frozenset({"", "unknown"})


def duty_questions(family: str, name: str, duty: Duty) -> tuple[DutyQuestion, ...]:
    """What to ask of a ring of this family; `name` is how the page calls the material."""
    if family in _NOT_SAID:
        return _of_unknown(duty)
    rings = f"Rings of this metal ({name})"
    found = [
        question
        for question in (
            _beryllium_in_iron(family, duty),
            _grows_in_iron(family, rings, duty),
            _dry_gas(family, rings, duty),
            _plain_exhaust(family, rings, duty),
            _diesel(family, rings, duty),
        )
        if question is not None
    ]
    return tuple(found)


def _of_unknown(duty: Duty) -> tuple[DutyQuestion, ...]:
    if Fuel.DRY_GAS not in duty.fuels or not duty.kinds:
        return ()
    return (
        DutyQuestion(
            "material_for_dry_gas",
            "This engine runs on dry gas, and what these rings are made of is not said. Are they "
            "made for dry gas? The box or its maker says so.",
            NO_ONE_SAID,
        ),
    )


def _beryllium_in_iron(family: str, duty: Duty) -> DutyQuestion | None:
    if family != "beryllium_copper" or not _is_iron(duty):
        return None
    return DutyQuestion(
        "beryllium_in_iron",
        "Beryllium copper in an iron head: hot, it grows far more than the iron around it and may "
        "yield there. It is mostly used in aluminium heads, with titanium valves. Is it meant?",
    )


def _grows_in_iron(family: str, rings: str, duty: Duty) -> DutyQuestion | None:
    if family not in _GROWS - {"beryllium_copper"} or not _is_iron(duty):
        return None
    return DutyQuestion(
        "grows_in_iron",
        f"{rings} expand half as much again as iron: in an iron head a hot ring is squeezed and "
        "may be loose once cold. They are mostly for aluminium heads. Is it meant?",
    )


def _dry_gas(family: str, rings: str, duty: Duty) -> DutyQuestion | None:
    if Fuel.DRY_GAS not in duty.fuels:
        return None
    if family in _SINTERED:
        words = (
            "Dry gas leaves nothing on the seats to spare them. Are sintered rings of this grade "
            "made for it? Some are, many are not: the maker says."
        )
    elif family in _SOFT:
        words = (
            f"{rings} with dry gas: nothing on the seats spares them, and harder ones (tool "
            "steel, cobalt alloy, chromium steel) are mostly used. Is it meant?"
        )
    else:
        return None
    return DutyQuestion("dry_gas", words)


def _plain_exhaust(family: str, rings: str, duty: Duty) -> DutyQuestion | None:
    if family not in _PLAIN_IRON or not duty.is_exhaust or Fuel.DRY_GAS in duty.fuels:
        return None
    return DutyQuestion(
        "plain_iron_exhaust",
        f"{rings} at an exhaust valve are mostly for light duty. Is this a light engine, or did "
        "its maker fit such rings?",
    )


def _diesel(family: str, rings: str, duty: Duty) -> DutyQuestion | None:
    if Fuel.DIESEL not in duty.fuels or family not in _COPPER | {"nickel_iron"}:
        return None
    return DutyQuestion(
        "soft_in_diesel",
        f"{rings} in a diesel: the valves hit harder than they mostly bear. Is it meant?",
    )


def _is_iron(duty: Duty) -> bool:
    return duty.head in (Material.GREY_IRON, Material.DUCTILE_IRON)


def duty_of(head: Material | None, kinds: Collection[Kind], fuel: str) -> Duty:
    """The duty at some positions of one head."""
    return Duty(head, frozenset(kinds), fuels_of(fuel))
