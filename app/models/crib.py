"""What stands in the crib: machines, cutters, pilots, fixtures, instruments."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from app.calc.units import Length
from app.db import Worded, one_of
from app.models.base import (
    INSERT_ONLY,
    MUTABLE,
    Mutable,
    Written,
    kept,
    length,
    maybe_length,
    maybe_moment,
    reference,
)
from app.workflow.kinds import CutterKind, InstrumentKind, Unit
from app.workflow.words import FixtureMode


class Machine(Mutable, table=True):
    """A seat-and-guide machine."""

    __tablename__ = "machine"
    __table_args__ = kept(MUTABLE, UniqueConstraint("name"))

    name: str = Field(max_length=60)
    # Full quill travel; with the touch-off it tells whether the depth can be reached.
    travel: Length | None = maybe_length()
    note: str = Field(default="", max_length=400)
    retired_at: datetime | None = maybe_moment()


class Cutter(Mutable, table=True):
    """An adjustable cutter, or a fixed one of one size."""

    __tablename__ = "cutter"
    __table_args__ = kept(MUTABLE, UniqueConstraint("name"), one_of("kind", CutterKind))

    name: str = Field(max_length=60)
    kind: CutterKind = Field(sa_type=Worded(CutterKind))
    fixed_size: Length | None = maybe_length()
    corner_radius: Length | None = maybe_length()
    note: str = Field(default="", max_length=400)
    retired_at: datetime | None = maybe_moment()


class TipChange(Written, table=True):
    """A cutter's tip was changed or ground: overcut starts afresh."""

    __tablename__ = "tip_change"
    __table_args__ = kept(INSERT_ONLY)

    cutter_id: int = reference("cutter")
    what: str = Field(max_length=120)


class Pilot(Mutable, table=True):
    """A pilot with its two measured diameters."""

    __tablename__ = "pilot"
    __table_args__ = kept(MUTABLE, UniqueConstraint("name"), one_of("unit", Unit))

    name: str = Field(max_length=60)
    guide_diameter: Length = length()
    # The diameter that the tip is measured across, at the tip's height.
    shank_diameter: Length = length()
    is_tapered: bool = False
    unit: Unit = Field(sa_type=Worded(Unit))
    measured_on: date
    retired_at: datetime | None = maybe_moment()


class Fixture(Mutable, table=True):
    """A setting fixture: what its reading means and what one division is."""

    __tablename__ = "fixture"
    __table_args__ = kept(
        MUTABLE, UniqueConstraint("name"), one_of("mode", FixtureMode), one_of("unit", Unit)
    )

    name: str = Field(max_length=60)
    mode: FixtureMode = Field(sa_type=Worded(FixtureMode))
    division: Length = length()
    unit: Unit = Field(sa_type=Worded(Unit))
    repeatability: Length | None = maybe_length()
    retired_at: datetime | None = maybe_moment()


class Instrument(Mutable, table=True):
    """A measuring instrument: unit, division, greatest error, and when its check is due."""

    __tablename__ = "instrument"
    __table_args__ = kept(
        MUTABLE, UniqueConstraint("name"), one_of("kind", InstrumentKind), one_of("unit", Unit)
    )

    name: str = Field(max_length=60)
    kind: InstrumentKind = Field(sa_type=Worded(InstrumentKind))
    unit: Unit = Field(sa_type=Worded(Unit))
    division: Length = length()
    greatest_error: Length | None = maybe_length()
    # Zeroed on a master: readings are typed as divisions from it (+3, -2).
    is_comparator: bool = False
    check_every_days: int | None = None
    retired_at: datetime | None = maybe_moment()
    # Twice the standard deviation of one reading.
    repeatability: Length | None = maybe_length()


class InstrumentCheck(Written, table=True):
    """A check of an instrument on a master, or its zeroing."""

    __tablename__ = "instrument_check"
    __table_args__ = kept(INSERT_ONLY)

    instrument_id: int = reference("instrument")
    master: Length = length()
    read: Length = length()
    is_within: bool
    master_name: str = Field(default="", max_length=80)
    note: str = Field(default="", max_length=200)
    # How far the master may be off, as its certificate says (k = 2).
    master_uncertainty: Length | None = maybe_length()
