"""What the cut page of one position shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from app.calc.units import Length
from app.models.crib import Instrument
from app.models.head import Head, Port
from app.models.job import Job
from app.models.reading import ReadingSet
from app.models.setting import ClampUp
from app.queries.drift import OvercutLine
from app.workflow.cautions import Caution
from app.workflow.requirements import AskedPoint
from app.workflow.settings import Confirm, Refusal, SettingStanding
from app.worksheets.cells import Cell
from app.worksheets.corrections import Advice
from app.worksheets.cutting import (
    StaleResult,
    Stop,
)
from app.worksheets.facts import HeadSheet
from app.worksheets.fits import Fit
from app.worksheets.gauges_today import Today
from app.worksheets.head_rows import PortRows
from app.worksheets.readings import Readings
from app.worksheets.settings import NamedPort, SettingRows
from app.worksheets.spindle import SpindleHint
from app.worksheets.verifications import Proof

# Why a bore is not gauged with the spindle still centred.
HEAD_OFF, ELSEWHERE, LAPSED = "head_off", "elsewhere", "lapsed"


@dataclass(frozen=True)
class SettingOnPage:
    """The setting a page is about: its name, and for which positions only."""

    rows: SettingRows
    name: str
    only: str  # those still to be cut with it
    bored: str
    next: NamedPort | None  # the next of its positions that is not bored yet

    @property
    def id(self) -> int:
        """Its number."""
        return self.rows.setting.id


@dataclass(frozen=True)
class Opened:
    """A position opened to be cut, with nothing recorded since."""

    at: datetime
    by: str
    is_own: bool
    is_old: bool  # long enough ago, or by another: was it cut?


@dataclass(frozen=True)
class CutView:
    """Everything on the page; `state` says which of its faces is shown.

    ``no_ring`` · ``no_setting`` · ``refused`` · ``stale`` · ``shut`` · ``warm`` ·
    ``not_clamped`` · ``lapsed`` · ``no_stop`` · ``ready`` · ``gauging`` · ``first_pass`` ·
    ``corrected`` · ``on_hold`` · ``proved`` · ``ring_in``
    """

    state: str
    job: Job
    head: Head
    port: Port
    sheet: HeadSheet
    rows: PortRows
    beside: str
    turned: int = 0
    machine: str = ""
    clamp_up: ClampUp | None = None
    setting: SettingOnPage | None = None
    refusal: Refusal | None = None
    needs_setting: int | None = None
    shut: tuple[AskedPoint, ...] = ()
    standing: SettingStanding | None = None
    confirm: Confirm | None = None
    stop: Stop | None = None
    opened: Opened | None = None
    name: str = ""  # of the position, with its head where the job has two
    uncentred: str = ""  # why the spindle may have left this bore since it was opened
    replaced: str = ""  # the setting one came with, when another took its place meanwhile
    today: Today | None = None  # what the gauge reads of the bore to expect, where it differs
    spindle: SpindleHint | None = None
    readings: Readings | None = None
    cells: tuple[Cell, ...] = ()
    lower: tuple[Cell, ...] = ()
    proof: Proof | None = None
    advice: Advice | None = None
    stale: Sequence[StaleResult] = ()
    guide_worn: str = ""  # before it is cut: what is wrong with the guide that the bore follows
    pocket_now: str = ""  # by the readings as they stand, where what was accepted fell
    instruments: tuple[Instrument, ...] = ()
    read_with: ReadingSet | None = None
    expected: Length | None = None
    cautions: tuple[Caution, ...] = ()
    warm: str = ""  # the head was heated, and is not recorded as cold
    fit: Fit | None = None
    tip: OvercutLine | None = None  # how the tip that cut it cuts this material
    names: dict[str, str] = field(default_factory=dict)

    @property
    def is_centred(self) -> bool:
        """The spindle has not left this bore since it was opened."""
        return not self.uncentred

    @property
    def unit(self) -> str:
        """The job's unit."""
        return self.job.unit.value
