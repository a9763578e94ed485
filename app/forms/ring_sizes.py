"""Sizes that sellers list: one line, a series in one step, and the list's filter."""

from __future__ import annotations

from typing import ClassVar, Protocol

from app.calc.errors import CalculationError
from app.calc.size_series import BLANK_STEPS, INCH_STEPS, MM_STEPS, NominalSize, blanks, oversizes
from app.calc.units import Length
from app.forms.base import Form
from app.forms.shelf import DIAMETER, HEIGHT
from app.workflow.kinds import Unit

STEPS: dict[str, Length] = {
    **{f"step_in_{n}": step for n, step in enumerate(INCH_STEPS)},
    **{f"step_mm_{n}": step for n, step in enumerate(MM_STEPS)},
}
SIXTY_FOURTH, THIRTY_SECOND = BLANK_STEPS
BLANKS = {"64": SIXTY_FOURTH, "32": THIRTY_SECOND}


def oversize_ticks() -> list[tuple[str, str, Unit]]:
    """Each oversize as a box to tick: its field, ``+.010 in``, and in whose unit it is."""
    return [
        (name, f"+{step.inches(3)} in", Unit.INCH)
        if name.startswith("step_in")
        else (name, f"+{step.mm(2)} mm", Unit.MM)
        for name, step in STEPS.items()
    ]


class Listed(Protocol):
    """A line of a list, typed or on record."""

    supplier: str
    part: str
    height: Length | None
    inside: Length | None


def size_key(line: Listed, od: Length | None) -> tuple[object, ...]:
    """What makes two lines the same size of the same seller."""
    return (line.supplier.casefold(), line.part.casefold(), od, line.height, line.inside)


class SizeForm(Form):
    """What every form of listed sizes says: from whom, of what, how high and how open."""

    unit: Unit
    names: ClassVar[dict[str, str]] = {
        "supplier": "Supplier",
        "part": "Part",
        "od": "Outside",
        "height": "Height",
        "inside": "Inside",
        "material": "Material",
        "unit": "Unit",
        "note": "Note",
        "least": "From",
        "most": "Up to",
        "steps": "Steps",
        "step": "Step",
    }

    def parse(self) -> None:
        self.unit = self.choice("unit", Unit, required="Say which unit the list is in") or self.unit
        self.supplier = self.text("supplier", most=60)
        self.part = self.text("part", most=60)
        self.material = self.text("material", most=60)
        self.height = self.length("height", self.unit, least=HEIGHT.low, most=HEIGHT.high)
        self.inside = self.length("inside", self.unit, least=DIAMETER.low, most=DIAMETER.high)

    def _outside(self, name: str, required: str) -> Length | None:
        return self.length(
            name, self.unit, required=required, least=DIAMETER.low, most=DIAMETER.high
        )

    def _refuse_too_open(self, smallest: Length | None) -> None:
        if smallest and self.inside and self.inside >= smallest:
            self.wrong("inside", "must be smaller than the outside")


class RingSizeForm(SizeForm):
    """One line of a size list: nominal, never measured."""

    def parse(self) -> None:
        super().parse()
        self.note = self.text("note", most=200)
        self.od = self._outside("od", "Give the outside diameter")
        self.row_version = self.whole("row_version")
        self._refuse_too_open(self.od)


class OversizesForm(SizeForm):
    """A base size with the oversizes that are ticked."""

    sizes: tuple[NominalSize, ...] = ()

    def parse(self) -> None:
        super().parse()
        base = self._outside("od", "Give the standard outside diameter")
        chosen = [step for name, step in STEPS.items() if self.yes(name)]
        if not chosen:
            self.wrong("steps", "Tick the oversizes that are listed")
        self._refuse_too_open(base)
        if base is not None and chosen:
            self.sizes = oversizes(base=base, steps=chosen)
            if self.sizes[-1].od > DIAMETER.high:
                self.wrong("od", "leaves no room for its oversizes; was it typed in another unit?")


class BlanksForm(SizeForm):
    """Blank rings over a range, by 1/64 or 1/32 in."""

    sizes: tuple[NominalSize, ...] = ()

    def parse(self) -> None:
        super().parse()
        least = self._outside("least", "Give the smallest outside diameter")
        most = self._outside("most", "Give the largest outside diameter")
        step = BLANKS.get(self.raw.get("step", ""))
        if step is None:
            self.wrong("step", "Choose by how much they rise")
        self._refuse_too_open(least)
        if least is None or most is None or step is None or not self.ok:
            return
        try:
            self.sizes = blanks(least=least, most=most, step=step)
        except CalculationError as no:
            self.wrong(no.field, no.message)


class SizeFilter(Form):
    """Which lines of the list are shown, as the address says it."""

    unit: Unit
    names: ClassVar[dict[str, str]] = {"from": "Outside from", "to": "Outside up to"}

    def parse(self) -> None:
        self.find = self.text("q", most=60)
        self.od_from = self.length("from", self.unit)
        self.od_to = self.length("to", self.unit)
        self.with_retired = self.raw.get("also") == "retired"
        if self.od_from and self.od_to and self.od_from > self.od_to:
            self.wrong("to", "is smaller than where it starts")

    @property
    def is_set(self) -> bool:
        """Something narrows the list."""
        return bool(self.find or self.od_from or self.od_to)
