"""A head's deck: what came off it, what is still to come, and how deep each bore is from it now."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from app.calc.depth import Datum, Depth, counterbore_depth
from app.calc.errors import CalculationError
from app.calc.units import Length
from app.models.inspection import DeckCut
from app.models.port_pass import Cut
from app.models.setting import ClampUp
from app.workflow.kinds import Quantity
from app.workflow.words import Work
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows


@dataclass(frozen=True)
class DeckPort:
    """One counterbore whose depth counts from the deck."""

    rows: PortRows
    planned: Length  # stock that was to come off when it was cut
    taken: Length  # stock that came off since
    depth: Depth | None  # to gauge from the deck as it is now; None where it cannot be worked

    @property
    def left(self) -> Length:
        """Still to come off; negative where more came off than was planned."""
        return self.planned - self.taken

    @property
    def over_by(self) -> Length:
        """How much more came off than it was bored for."""
        return Length(max(0, -self.left.nm))

    @property
    def is_over(self) -> bool:
        """More came off than the depth was cut for: what stood flush stands proud."""
        return self.left.nm < 0


def deck_cuts(session: Session, head_id: int) -> tuple[DeckCut, ...]:
    """The cuts that count, the first first: one that was taken back does not."""
    rows = session.exec(
        select(DeckCut).where(DeckCut.head_id == head_id).order_by(col(DeckCut.id))
    ).all()
    gone = {row.takes_back_id for row in rows if row.takes_back_id is not None}
    return tuple(row for row in rows if row.takes_back_id is None and row.id not in gone)


def removed(cuts: Sequence[DeckCut]) -> Length:
    """All that came off."""
    return Length(sum(cut.stock.nm for cut in cuts))


def still_to_come(cuts: Sequence[DeckCut]) -> Length | None:
    """As the newest cut says it; None where nobody said."""
    return cuts[-1].still_to_come if cuts else None


def taken_after(cuts: Sequence[DeckCut], since: datetime) -> Length:
    """What came off after a moment."""
    return removed([cut for cut in cuts if cut.at > since])


def touched_off_on_the_deck(session: Session, head_id: int) -> bool:
    """Whether depth was last taken from the deck as it was then."""
    newest = session.exec(
        select(ClampUp).where(ClampUp.head_id == head_id).order_by(col(ClampUp.id).desc()).limit(1)
    ).first()
    return newest is not None and newest.datum == Datum.DECK.value


def removed_from(session: Session, head_ids: Collection[int]) -> dict[int, Length]:
    """All that came off each of these decks, where something did; one statement."""
    rows = session.exec(select(DeckCut).where(col(DeckCut.head_id).in_(list(head_ids)))).all()
    gone = {row.takes_back_id for row in rows if row.takes_back_id is not None}
    found: dict[int, Length] = {}
    for row in rows:
        if row.takes_back_id is None and row.id not in gone:
            found[row.head_id] = found.get(row.head_id, Length(0)) + row.stock
    return found


def clamp_up_of(session: Session, cut: Cut) -> ClampUp:
    """How the head stood when a bore was cut."""
    return session.get_one(ClampUp, cut.clamp_up_id)


def taken_at_depth(session: Session, rows: PortRows) -> Length:
    """Stock that came off between the cut and the depth that is read, or is to be read now.

    A depth that was read before the deck was cut was read from the deck as it was.
    """
    cut = rows.cut
    if cut is None or clamp_up_of(session, cut).datum != Datum.DECK.value:
        return Length(0)
    since = [one for one in deck_cuts(session, rows.port.head_id) if one.at > cut.at]
    read = rows.bore.of(Quantity.DEPTH) if rows.bore else ()
    newest = max((kept.kept_at for kept in read if kept.kept_at >= cut.at), default=None)
    return removed([one for one in since if newest is None or newest > one.at])


def deck_ports(session: Session, sheet: HeadSheet, cuts: Sequence[DeckCut]) -> tuple[DeckPort, ...]:
    """Every bore of a head that was cut from its deck."""
    found = []
    for rows in sheet.rows.ports:
        if rows.port.work is not Work.RING or rows.cut is None or rows.port_pass is None:
            continue
        clamp_up = clamp_up_of(session, rows.cut)
        if clamp_up.datum != Datum.DECK.value:
            continue
        planned = clamp_up.deck_stock or Length(0)
        taken = taken_after(cuts, rows.cut.at)
        found.append(DeckPort(rows, planned, taken, _depth_now(sheet, rows, planned - taken)))
    return tuple(found)


def _depth_now(sheet: HeadSheet, rows: PortRows, left: Length) -> Depth | None:
    assert rows.port_pass is not None
    try:
        return counterbore_depth(
            ring_height_nm=rows.port_pass.depth.nm,
            # More than was planned came off: the ring would stand proud by it.
            protrusion=Length(max(0, -left.nm)),
            deck_stock=Length(max(0, left.nm)),
            datum=Datum.DECK,
            unit=sheet.rows.job.job.unit.value,
        )
    except CalculationError:
        return None
