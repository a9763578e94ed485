"""Customers, boxes of rings and cutters from a list: each line by the form that takes one in."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import ClassVar, Protocol

from app.calc.units import Length
from app.forms.crib import CutterForm
from app.forms.customers import CustomerForm
from app.forms.lists_in import Key, ListForm
from app.forms.shelf import NewShelfSetForm
from app.workflow.folding import digits, words
from app.workflow.kinds import CutterKind, RingOwner

_YES = ("yes", "y", "true", "1", "x", "trade")


class Called(Protocol):
    """A customer, typed or on record."""

    name: str
    phone: str


class Boxed(Protocol):
    """A box of rings, typed or on record."""

    part: str
    name: str
    supplier: str
    lot: str
    label_od: Length | None
    label_height: Length | None
    label_inside: Length | None


def customer_key(one: Called) -> Key:
    """One name with one number is one customer."""
    return (" ".join(words(one.name)), digits(one.phone))


def box_key(one: Boxed) -> Key:
    """One number of one lot with the same sizes on it is one box."""
    texts = (one.part, one.name, one.supplier, one.lot)
    sizes = (one.label_od, one.label_height, one.label_inside)
    return (*(text.casefold() for text in texts), *sizes)


class CustomerListForm(ListForm[CustomerForm]):
    """Customers with their numbers."""

    columns: ClassVar = (
        *("name", "phone", "second_phone", "email", "is_trade"),
        *("standing_limit", "note"),
    )
    marker: ClassVar = "name"
    also: ClassVar[Mapping[str, str]] = {
        "customer": "name",
        "telephone": "phone",
        "phone number": "phone",
        "second phone": "second_phone",
        "e-mail": "email",
        "mail": "email",
        "trade": "is_trade",
        "standing limit": "standing_limit",
    }

    def line_form(self, raw: dict[str, str]) -> CustomerForm:
        """One customer."""
        raw["is_trade"] = "yes" if raw.get("is_trade", "").casefold() in _YES else ""
        return CustomerForm(raw)

    def key(self, form: CustomerForm) -> Key:
        """The same name and number."""
        return customer_key(form)


class ShelfListForm(ListForm[NewShelfSetForm]):
    """Boxes of rings for the shelf; sizes are what the boxes say."""

    columns: ClassVar = (
        *("part", "name", "supplier", "lot", "od", "height", "inside", "pieces"),
        *("material", "unit", "place", "owner"),
    )
    marker: ClassVar = "pieces"
    most_lines: ClassVar = 500
    also: ClassVar[Mapping[str, str]] = {
        "number": "part",
        "part number": "part",
        "outside": "od",
        "outside diameter": "od",
        "id": "inside",
        "inside diameter": "inside",
        "depth": "height",
        "rings": "pieces",
        "count": "pieces",
        "whose": "owner",
    }
    materials: Mapping[str, str] = {}  # keys by name, folded
    own_materials: Collection[str] = ()

    def line_form(self, raw: dict[str, str]) -> NewShelfSetForm:
        """One box."""
        for size in ("od", "height", "inside"):
            raw[f"label_{size}"] = raw.pop(size, "")
        material = raw.get("material", "")
        raw["material"] = self.materials.get(material.casefold(), material)
        whose = raw.get("owner", "").casefold()
        by_word = {each.screen: each.value for each in RingOwner}
        raw["owner"] = by_word.get(whose, whose) or RingOwner.SHOP.value
        return NewShelfSetForm(raw, unit=self.unit, own_materials=self.own_materials)

    def key(self, form: NewShelfSetForm) -> Key:
        """The same number, lot and sizes."""
        return box_key(form)


class CutterListForm(ListForm[CutterForm]):
    """Cutters; one with a size is a fixed one."""

    columns: ClassVar = ("name", "kind", "fixed_size", "corner_radius", "unit", "note")
    marker: ClassVar = "name"
    also: ClassVar[Mapping[str, str]] = {
        "cutter": "name",
        "size": "fixed_size",
        "fixed size": "fixed_size",
        "corner radius": "corner_radius",
        "radius": "corner_radius",
    }

    def line_form(self, raw: dict[str, str]) -> CutterForm:
        """One cutter; plain numbers are in the line's unit."""
        kind = raw.get("kind", "").casefold()
        by_word = {each.screen: each.value for each in CutterKind}
        fixed = CutterKind.FIXED if raw.get("fixed_size") else CutterKind.ADJUSTABLE
        raw["kind"] = by_word.get(kind, kind) or fixed.value
        for size in ("fixed_size", "corner_radius"):
            if raw.get(size, "")[-1:].isdigit():
                raw[size] = f"{raw[size]} {raw['unit']}"
        return CutterForm(raw, unit=self.unit)

    def key(self, form: CutterForm) -> Key:
        """One name, one cutter."""
        return (form.name.casefold(),)
