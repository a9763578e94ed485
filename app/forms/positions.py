"""Work and present seat of a whole head in one run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.forms.base import Form
from app.workflow.kinds import Said
from app.workflow.words import Kind, SeatNow, Work


class Whole(Said):
    """Which positions a quick button speaks of."""

    EXHAUSTS = "exhausts", "all exhausts"
    INTAKES = "intakes", "all intakes"
    REST = "rest", "the rest"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Quick:
    """One touch for many positions."""

    which: Whole
    work: Work | None = None
    seat_now: SeatNow | None = None

    def speaks_of(self, kind: Kind, work: Work, seat_now: SeatNow | None) -> bool:
        """Whether a position is meant; "the rest" are those not decided yet."""
        if self.which is Whole.EXHAUSTS:
            return kind is Kind.EXHAUST
        if self.which is Whole.INTAKES:
            return kind is Kind.INTAKE
        if self.which is Whole.REST:
            return work is Work.UNDECIDED if self.work else seat_now is None
        return True

    @property
    def value(self) -> str:
        """What its button sends."""
        return f"{self.which}:{self.work or self.seat_now}"

    @property
    def words(self) -> str:
        """``All exhausts: seat ring``."""
        said = self.work or self.seat_now
        which = self.which.screen
        return f"{which[0].upper()}{which[1:]}: {said.screen if said else ''}"


QUICK_WORK = (
    Quick(Whole.EXHAUSTS, work=Work.RING),
    Quick(Whole.INTAKES, work=Work.RING),
    Quick(Whole.REST, work=Work.SEAT_ONLY),
    Quick(Whole.REST, work=Work.GUIDE_ONLY),
    Quick(Whole.REST, work=Work.LEAVE),
)
QUICK_SEATS = (
    Quick(Whole.ALL, seat_now=SeatNow.CASTING),
    Quick(Whole.ALL, seat_now=SeatNow.RING),
    Quick(Whole.REST, seat_now=SeatNow.CASTING),
    Quick(Whole.REST, seat_now=SeatNow.RING),
)
_QUICK = {quick.value: quick for quick in (*QUICK_WORK, *QUICK_SEATS)}


@dataclass(frozen=True, slots=True)
class Decided:
    """What the page says of one position, and what it said when it was opened."""

    work: Work | None
    seat_now: SeatNow | None
    had: str


class PositionsForm(Form):
    """Every position of a head; `ids` maps the head's position ids to their labels."""

    ids: Mapping[int, str]
    decided: dict[int, Decided]
    quick: Quick | None

    def __init__(self, raw: dict[str, str], *, ids: Mapping[int, str]) -> None:
        super().__init__(raw, ids=ids)

    def parse(self) -> None:
        self.decided = {}
        for port_id in self.ids:
            work = self.choice(f"work_{port_id}", Work)
            seat_now = self.choice(f"seat_{port_id}", SeatNow)
            self.decided[port_id] = Decided(work, seat_now, self.raw.get(f"had_{port_id}", ""))
        asked = self.raw.get("quick", "")
        self.quick = _QUICK.get(asked)
        if asked and self.quick is None:
            self.wrong("form", "That button is not known here; choose each position instead")


def had(work: Work, seat_now: SeatNow | None) -> str:
    """How a position stood when its page was opened: two pages open at once are told apart."""
    return f"{work}|{seat_now or ''}"
