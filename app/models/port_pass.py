"""One try at one bore with one ring: passes, cuts, verdicts, holds, rings in, finishes."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, Index, UniqueConstraint, text
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
    moment,
    reference,
)
from app.workflow.kinds import HoldReason, PassOutcome, PressWay, Verdict
from app.workflow.words import Material, Way, WorkStage

CLOSED_IS_FROZEN = {**MUTABLE, "frozen_when": "OLD.closed_at IS NOT NULL"}


class PortPass(Mutable, table=True):
    """One try at one bore; open until its ring is signed for or another pass takes over."""

    __tablename__ = "port_pass"
    __table_args__ = kept(
        CLOSED_IS_FROZEN,
        UniqueConstraint("port_id", "nth"),
        one_of("outcome", PassOutcome),
        # A rule is traced to what it touched, the newest first.
        Index("ix_port_pass_rule_source_id", "rule_source", "id"),
        Index(
            "uq_port_pass_open_port",
            "port_id",
            unique=True,
            sqlite_where=text("closed_at IS NULL"),
            postgresql_where=text("closed_at IS NULL"),
        ),
        Index(
            "uq_port_pass_open_ring",
            "ring_id",
            unique=True,
            sqlite_where=text("closed_at IS NULL AND ring_id IS NOT NULL"),
            postgresql_where=text("closed_at IS NULL AND ring_id IS NOT NULL"),
        ),
    )

    port_id: int = reference("port")
    nth: int
    why: str = Field(max_length=120)
    ring_set_id: int = reference("ring_set")
    # None while any ring of the set may go in.
    ring_id: int | None = maybe_reference("ring")
    rule_least: Length = length()
    rule_aim: Length = length()
    rule_most: Length = length()
    rule_source: str = Field(max_length=200)
    target_bore: Length = length()
    depth: Length = length()
    opened_at: datetime = moment()
    outcome: PassOutcome | None = Field(default=None, sa_type=Worded(PassOutcome), nullable=True)
    closed_at: datetime | None = maybe_moment()


class CutOpening(Written, table=True):
    """The cut page was opened for a position, and how the position was confirmed."""

    __tablename__ = "cut_opening"
    __table_args__ = kept(INSERT_ONLY)

    port_pass_id: int = reference("port_pass")
    setting_id: int = reference("setting")
    clamp_up_id: int = reference("clamp_up")
    # False: carried along the setting without asking again.
    was_touched: bool
    # True: "opened and not cut", said after the fact.
    was_not_cut: bool = False


class Cut(Written, table=True):
    """A bore was cut: with which setting, reading, clamp-up and depth stop."""

    __tablename__ = "cut"
    __table_args__ = kept(INSERT_ONLY)

    port_pass_id: int = reference("port_pass")
    setting_id: int = reference("setting")
    setting_adjustment_id: int = reference("setting_adjustment")
    clamp_up_id: int = reference("clamp_up")
    stop: Length = length()
    is_first_pass: bool = False
    is_last: bool = True


class Verification(Written, table=True):
    """The verdict on one bore with one ring, by these readings."""

    __tablename__ = "verification"
    __table_args__ = kept(INSERT_ONLY, one_of("verdict", Verdict))

    port_pass_id: int = reference("port_pass")
    result_id: int = reference("result")
    verdict: Verdict = Field(sa_type=Worded(Verdict))
    interference: Length = length()
    uncertainty: Length = length()
    bore_mean: Length = length()


class Hold(Written, table=True):
    """A position stops; the ways out stand on its page."""

    __tablename__ = "hold"
    __table_args__ = kept(INSERT_ONLY, one_of("reason", HoldReason), Index("ix_hold_at", "at"))

    port_id: int = reference("port")
    port_pass_id: int | None = maybe_reference("port_pass")
    reason: HoldReason = Field(sa_type=Worded(HoldReason))
    words: str = Field(max_length=400)
    result_id: int | None = maybe_reference("result")


class HoldRelease(Written, table=True):
    """The way out that was taken; as a deviation with value, limit, reason and who decided."""

    __tablename__ = "hold_release"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("hold_id"), one_of("way", Way))

    hold_id: int = reference("hold")
    way: Way = Field(sa_type=Worded(Way))
    is_deviation: bool = False
    value: str = Field(default="", max_length=80)
    limit: str = Field(default="", max_length=80)
    reason: str = Field(max_length=400)
    decided_by: str = Field(max_length=80)
    customer_told: bool | None = None
    next_pass_id: int | None = maybe_reference("port_pass")


class RingIn(Written, table=True):
    """A ring was pressed in: which one, how it was known, how it went in, and down or not."""

    __tablename__ = "ring_in"
    __table_args__ = kept(INSERT_ONLY, one_of("way", PressWay))

    port_pass_id: int = reference("port_pass")
    ring_id: int = reference("ring")
    # The OD re-read before pressing; none when the set's rings may be mixed.
    od_check: Length | None = maybe_length()
    known_by: str = Field(max_length=120)
    way: PressWay = Field(sa_type=Worded(PressWay))
    head_c: float | None = None
    ring_c: float | None = None
    feeler: str = Field(default="", max_length=120)
    note: str = Field(default="", max_length=400)
    withdrawn: bool = False
    # Rings that went in in one heat of the head share its number; a later heat that they were in
    # the head for writes them once more, with its own.
    heat: int | None = None
    # How the head got cold again; a row that says it is the proof that the ring is down, cold.
    cool_down: str | None = Field(default=None, max_length=120)
    method: str | None = Field(default=None, max_length=120)
    # When and by whom it went in, where it was typed in later from paper.
    pressed_at: datetime | None = maybe_moment()
    pressed_by_id: int | None = maybe_reference("person")

    @property
    def went_in_at(self) -> datetime:
        """When the ring went in."""
        return self.pressed_at or self.at

    @property
    def went_in_by_id(self) -> int:
        """Who pressed it."""
        return self.pressed_by_id or self.by_id

    @property
    def is_entered_later(self) -> bool:
        """It was typed in from paper."""
        return self.pressed_at is not None


class Finish(Written, table=True):
    """A seat was finished; its figures are readings, or "not done, because …"."""

    __tablename__ = "finish"
    __table_args__ = kept(INSERT_ONLY)

    port_id: int = reference("port")
    angles: str = Field(default="", max_length=60)
    note: str = Field(default="", max_length=400)


class StageTime(Row, table=True):
    """How long one stage took on positions that were signed together: what promises learn from."""

    __tablename__ = "stage_time"
    __table_args__ = kept(
        INSERT_ONLY,
        UniqueConstraint("signature_id", "head_id", "stage"),
        one_of("stage", WorkStage),
        CheckConstraint("positions > 0 AND seconds >= 0", name="counts"),
    )

    signature_id: int = reference("signature")
    head_id: int = reference("head")
    stage: WorkStage = Field(sa_type=Worded(WorkStage))
    positions: int
    seconds: int
    at: datetime = moment()


class OvercutSample(Row, table=True):
    """Bore measured minus size set, of a signed bore: what the next setting learns from."""

    __tablename__ = "overcut_sample"
    __table_args__ = kept(
        INSERT_ONLY,
        UniqueConstraint("cut_id"),
        one_of("material", Material),
        # A cutter's record shows its newest cuts.
        Index("ix_overcut_sample_cutter_id_cut_id", "cutter_id", "cut_id"),
    )

    cut_id: int = reference("cut")
    port_pass_id: int = reference("port_pass")
    cutter_id: int = reference("cutter")
    tip_change_id: int | None = maybe_reference("tip_change")
    material: Material = Field(sa_type=Worded(Material))
    set_size: Length = length()
    measured: Length = length()
    at: datetime = moment()


class OvercutStrike(Written, table=True):
    """A sample that no longer counts, because a reading under it was struck."""

    __tablename__ = "overcut_strike"
    __table_args__ = kept(INSERT_ONLY, UniqueConstraint("overcut_sample_id"))

    overcut_sample_id: int = reference("overcut_sample")
    reason: str = Field(max_length=200)


class PortFact(Row, table=True):
    """One row per signed pass, for the office's figures."""

    __tablename__ = "port_fact"
    __table_args__ = kept(
        INSERT_ONLY, UniqueConstraint("port_pass_id"), one_of("material", Material)
    )

    port_pass_id: int = reference("port_pass")
    port_id: int = reference("port")
    job_id: int = reference("job")
    signed_at: datetime = moment(index=True)
    material: Material = Field(sa_type=Worded(Material))
    ring_od: Length = length()
    label_od: Length | None = maybe_length()
    bore: Length = length()
    interference: Length = length()
    aim: Length = length()
    least: Length = length()
    most: Length = length()
    passes: int
    was_held: bool
    was_deviation: bool
    # Its first bore stood: one pass, and no hold but one for a slip in a reading.
    right_first_time: bool | None = Field(default=None, nullable=True)
    # As the ring's box said when it was signed.
    supplier: str | None = Field(default=None, max_length=60)
    lot: str | None = Field(default=None, max_length=60)
