"""A seller's list of sizes: lines as the size list takes them in by hand."""

from __future__ import annotations

from typing import ClassVar

from app.forms.lists_in import Key, ListForm
from app.forms.ring_sizes import RingSizeForm, size_key


class SizeListForm(ListForm[RingSizeForm]):
    """Sizes with their supplier; without a heading the columns stand in the page's order."""

    columns: ClassVar = ("supplier", "part", "od", "height", "inside", "material", "unit")
    marker: ClassVar = "od"
    needs_heading: ClassVar = False
    most_lines: ClassVar = 1000
    known_is_refused: ClassVar = True
    already: ClassVar = "stands on the list already"
    also: ClassVar = {
        "outside": "od",
        "outside diameter": "od",
        "o.d.": "od",
        "id": "inside",
        "inside diameter": "inside",
        "i.d.": "inside",
        "depth": "height",
        "number": "part",
        "part number": "part",
        "from": "supplier",
    }
    names: ClassVar = {"list": "The list", "unit": "Unit", "supplier": "Supplier"}

    def parse(self) -> None:
        self.supplier = self.text("supplier", most=60)
        super().parse()

    def _besides(self) -> list[str]:
        return [self.supplier]

    def line_form(self, raw: dict[str, str]) -> RingSizeForm:
        """One size."""
        raw["supplier"] = raw.get("supplier") or self.supplier
        return RingSizeForm(raw, unit=self.unit)

    def key(self, form: RingSizeForm) -> Key:
        """The same size of the same seller."""
        return size_key(form, form.od)
