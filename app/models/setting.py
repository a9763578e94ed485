"""Settings: one cutter at one size, for named positions."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Index, UniqueConstraint, text
from sqlmodel import Field

from app.calc.units import Length
from app.db import Worded, one_of
from app.models.base import (
    INSERT_ONLY,
    MUTABLE,
    Mutable,
    Row,
    Written,
    kept,
    length,
    maybe_length,
    maybe_moment,
    maybe_reference,
    reference,
)
from app.workflow.kinds import SettingState
from app.workflow.words import FixtureMode


class Setting(Mutable, table=True):
    """One cutter at one size; at most one of a cutter's settings is live in the whole shop."""

    __tablename__ = "setting"
    __table_args__ = kept(
        MUTABLE,
        one_of("state", SettingState),
        one_of("mode", FixtureMode),
        Index(
            "uq_setting_live_cutter",
            "cutter_id",
            unique=True,
            sqlite_where=text("state = 'live'"),
            postgresql_where=text("state = 'live'"),
        ),
    )

    job_id: int = reference("job")
    cutter_id: int = reference("cutter")
    tip_change_id: int | None = maybe_reference("tip_change")
    fixture_id: int | None = maybe_reference("fixture")
    pilot_id: int | None = maybe_reference("pilot")
    mode: FixtureMode | None = Field(default=None, sa_type=Worded(FixtureMode), nullable=True)
    division: Length | None = maybe_length()
    across: Length | None = maybe_length()
    # Frozen when the setting was made: where the bore was aimed and what the cutter adds.
    target_bore: Length = length()
    overcut: Length = length()
    overcut_source: str = Field(max_length=200)
    # A first pass goes under size by this much while the tip is little known.
    under_by: Length = length()
    set_size: Length = length()
    reading: Length | None = maybe_length()
    state: SettingState = Field(sa_type=Worded(SettingState))
    lapsed_because: str = Field(default="", max_length=300)
    live_since: datetime | None = maybe_moment()
    live_by_id: int | None = maybe_reference("person")
    clamp_up_id: int | None = maybe_reference("clamp_up")


class SettingPort(Row, table=True):
    """A position that a setting may cut, with the window that it was judged against."""

    __tablename__ = "setting_port"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("setting_id", "port_pass_id"))

    setting_id: int = reference("setting")
    port_pass_id: int = reference("port_pass")
    bore_low: Length = length()
    bore_high: Length = length()


class SettingAdjustment(Written, table=True):
    """What the fixture read after locking, and the bore that it will give."""

    __tablename__ = "setting_adjustment"
    __table_args__ = kept(INSERT_ONLY)

    setting_id: int = reference("setting")
    # "set", "corrected" after a cut, or "re-read" to make a lapsed setting live again.
    why: str = Field(max_length=40)
    achieved: Length = length()
    typed: str = Field(max_length=40)
    set_size: Length = length()
    expected_bore: Length = length()


class ClampUp(Written, table=True):
    """One head fixed on the machine: level, where depth starts, and the touch-off."""

    __tablename__ = "clamp_up"
    __table_args__ = kept(INSERT_ONLY)

    head_id: int = reference("head")
    machine_id: int = reference("machine")
    row: int | None = None
    datum: str = Field(max_length=40)
    touch_off: Length = length()
    scale_rises: bool = True
    level: str = Field(max_length=120)
    travel: Length | None = maybe_length()
    deck_stock: Length | None = maybe_length()


class ClampUpTurn(Written, table=True):
    """How the head map was turned for a clamp-up; the newest counts."""

    __tablename__ = "clamp_up_turn"
    __table_args__ = kept(INSERT_ONLY)

    clamp_up_id: int = reference("clamp_up")
    turned: int
