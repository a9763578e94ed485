"""Forms of the crib: machines, cutters, pilots, fixtures, instruments."""

from __future__ import annotations

from typing import ClassVar

from app.calc.quantities import LENGTH_RANGES, LengthRange
from app.calc.repeatability import Repeatability, repeatability_of
from app.calc.units import Length, LengthError, parse_comparator
from app.forms.base import Form
from app.models.crib import Instrument
from app.workflow.kinds import CutterKind, InstrumentKind, Unit
from app.workflow.words import FixtureMode

DIAMETER = LENGTH_RANGES["bore"]
GUIDE = LENGTH_RANGES["pilot"]
DIVISION = LENGTH_RANGES["resolution"]
TRAVEL = LengthRange(Length.of("10", "mm"), Length.of("500", "mm"))
CORNER = LengthRange(Length.of("0", "mm"), Length.of("3", "mm"))
ERROR = LengthRange(Length.of("0", "mm"), Length.of("0.5", "mm"))
MASTER = LengthRange(Length.of("0", "mm"), Length.of("300", "mm"))
# A shank may be thicker than any guide; a pilot ground for a large tool is.
SHANK = LengthRange(Length.of("3", "mm"), Length.of("40", "mm"))
FAR_APART = Length.of("0.5", "mm")
ANY_SIZE = Length.of("50", "mm")
MOST_REPEATS, FEWEST_REPEATS = 10, 5


class ToolForm(Form):
    """What every tool's form has: a name, a unit for plain numbers, the version it was opened on.

    `unit` is the shop's when the form has no unit of its own.
    """

    unit: Unit
    name: str
    row_version: int | None

    def parse(self) -> None:
        self.name = self.text("name", required="Give it the name that people call it by", most=60)
        self.row_version = self.whole("row_version")

    def size(self, name: str, within: LengthRange, *, required: str = "") -> Length | None:
        """A length of this field's plausible range."""
        return self.length(name, self.unit, required=required, least=within.low, most=within.high)


class MachineForm(ToolForm):
    """A seat-and-guide machine."""

    names: ClassVar[dict[str, str]] = {
        "travel": "Quill travel",
    }

    def parse(self) -> None:
        super().parse()
        self.travel = self.size("travel", TRAVEL)
        self.note = self.text("note", most=400)


class CutterForm(ToolForm):
    """A cutter; a fixed one has its size."""

    names: ClassVar[dict[str, str]] = {
        "corner_radius": "Corner radius of the tip",
    }

    def parse(self) -> None:
        super().parse()
        self.kind = self.choice("kind", CutterKind, required="Is it set to a size, or fixed?")
        self.fixed_size = self.size("fixed_size", DIAMETER)
        self.corner_radius = self.size("corner_radius", CORNER)
        self.note = self.text("note", most=400)
        if self.kind is CutterKind.FIXED and not self.raw.get("fixed_size", "").strip():
            self.wrong("fixed_size", "A fixed cutter needs the size it is ground to")
        if self.kind is CutterKind.ADJUSTABLE and self.fixed_size is not None:
            self.wrong("fixed_size", "An adjustable cutter has no fixed size; leave this empty")


class TipForm(Form):
    """The tip was changed or ground."""

    names: ClassVar[dict[str, str]] = {
        "what": "Tip changed or ground",
    }

    def parse(self) -> None:
        self.what = self.text(
            "what", required="Say what was done: a new tip, or ground and how", most=120
        )


class PilotKindForm(ToolForm):
    """What a pilot is called, the unit that it is read in, straight or tapered."""

    names: ClassVar[dict[str, str]] = {
        "unit": "Its unit",
    }

    def parse(self) -> None:
        self.unit = self.choice("unit", Unit, required="In which unit is it measured?") or self.unit
        ToolForm.parse(self)
        self.is_tapered = self.yes("is_tapered")


class PilotSizesForm(ToolForm):
    """A pilot's two diameters, measured on a day; far apart is asked about once."""

    names: ClassVar[dict[str, str]] = {
        "guide_diameter": "Guide end",
        "shank_diameter": "Shank",
    }

    def parse(self) -> None:
        self.row_version = self.whole("row_version")
        self.measure()

    def measure(self) -> None:
        """Read the diameters in the pilot's unit."""
        self.guide_diameter = self.size(
            "guide_diameter", GUIDE, required="The measured diameter at the guide end"
        )
        self.shank_diameter = self.size(
            "shank_diameter", SHANK, required="The measured diameter at the tip's height"
        )
        self.measured_on = self.day("measured_on", required="When was it measured?")
        if (
            self.guide_diameter is not None
            and self.shank_diameter is not None
            and self.shank_diameter - self.guide_diameter < -FAR_APART
            and not self.confirmed("shank")
        ):
            self.wrong("confirm_shank", "The shank is much thinner than the guide end. Is it so?")


class PilotForm(PilotKindForm, PilotSizesForm):
    """A pilot comes into the crib: what it is and what it measures."""

    names: ClassVar[dict[str, str]] = {**PilotKindForm.names, **PilotSizesForm.names}

    def parse(self) -> None:
        PilotKindForm.parse(self)
        self.measure()


class FixtureForm(ToolForm):
    """A setting fixture: what its reading means decides every size that is set on it."""

    names: ClassVar[dict[str, str]] = {
        "mode": "What it reads",
        "unit": "Its unit",
        "division": "One division",
        "repeatability": "How well it repeats",
    }

    def parse(self) -> None:
        self.unit = self.choice("unit", Unit, required="Which unit does it read in?") or self.unit
        super().parse()
        self.mode = self.choice(
            "mode", FixtureMode, required="What does it read? A radius is half of the diameter"
        )
        self.division = self.size("division", DIVISION, required="What is one division?")
        self.repeatability = self.size("repeatability", ERROR)


class InstrumentForm(ToolForm):
    """A measuring instrument."""

    names: ClassVar[dict[str, str]] = {
        "kind": "Measures",
        "unit": "Its unit",
        "division": "One division",
        "check_every_days": "Check every … days",
        "repeatability": "How well it repeats",
    }

    def parse(self) -> None:
        self.unit = self.choice("unit", Unit, required="Which unit does it read in?") or self.unit
        super().parse()
        self.kind = self.choice("kind", InstrumentKind, required="What does it measure?")
        self.division = self.size("division", DIVISION, required="What is one division?")
        self.greatest_error = self.size("greatest_error", ERROR)
        self.is_comparator = self.yes("is_comparator")
        self.check_every_days = self.whole("check_every_days", least=1, most=3660)
        self.repeatability = self.size("repeatability", ERROR)


class RepeatabilityForm(Form):
    """Readings of one size, to learn how well an instrument repeats."""

    names: ClassVar[dict[str, str]] = {
        f"read_{nth}": f"Reading {nth}" for nth in range(1, MOST_REPEATS + 1)
    }

    instrument: Instrument
    readings: tuple[Length, ...]
    found: Repeatability | None

    def parse(self) -> None:
        unit = self.instrument.unit
        self.seen = self.whole("row_version")
        typed = [self._one(name) for name in self.names]
        self.readings = tuple(one for one in typed if one is not None)
        self.found = None
        if self.errors:
            return
        if len(self.readings) < FEWEST_REPEATS:
            self.wrong("read_1", f"Read one size at least {FEWEST_REPEATS} times, better ten")
        elif max(self.readings) - min(self.readings) > ERROR.high:
            self.wrong("read_1", "These are not readings of one size; was one typed amiss?")
        else:
            self.found = repeatability_of(readings=self.readings, unit=unit.value)

    def _one(self, name: str) -> Length | None:
        """A size; of a comparator its divisions do, since only their spread counts."""
        typed = self.raw.get(name, "").strip()
        if self.instrument.is_comparator and (typed[:1] in ("+", "-") or typed == "0"):
            try:
                return parse_comparator(
                    "+0" if typed == "0" else typed, ANY_SIZE, self.instrument.division
                )
            except LengthError as unread:
                self.wrong(name, f"{typed[:40]!r} {unread}")
                return None
        return self.length(name, self.instrument.unit, least=MASTER.low, most=MASTER.high)


class CheckForm(Form):
    """An instrument read on a master; a comparator's reading may be divisions from it."""

    names: ClassVar[dict[str, str]] = {
        "master": "Master's size",
        "read": "It read",
        "master_name": "Which master",
        "master_uncertainty": "The master may be off by",
    }

    instrument: Instrument

    def parse(self) -> None:
        unit = self.instrument.unit
        self.master_name = self.text("master_name", most=80)
        self.note = self.text("note", most=200)
        self.master = self.length(
            "master", unit, required="The size of the master", least=MASTER.low, most=MASTER.high
        )
        self.master_uncertainty = self.length(
            "master_uncertainty", unit, least=ERROR.low, most=ERROR.high
        )
        typed = self.raw.get("read", "").strip()
        self.read: Length | None = None
        if self.instrument.is_comparator and typed[:1] in ("+", "-") and self.master is not None:
            try:
                self.read = parse_comparator(typed, self.master, self.instrument.division)
            except LengthError as unread:
                self.wrong("read", f"{typed[:40]!r} {unread}")
        else:
            self.read = self.length(
                "read", unit, required="What it read", least=MASTER.low, most=MASTER.high
            )
        if (
            self.read is not None
            and self.master is not None
            and abs(self.read - self.master) > ERROR.high
        ):
            self.wrong("read", "is nowhere near the master; was it typed in another unit?")


class RetireForm(Form):
    """Out of use, and why."""

    def parse(self) -> None:
        self.because = self.text(
            "because", required="Say why it goes: worn, broken, sold", most=200
        )
