"""The heats of a head: which rings were to go in, which went, and what is still warm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.models.heat import Heat, HeatClose, HeatPort
from app.workflow.words import Work, listed
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows


@dataclass(frozen=True)
class HeatRows:
    """One heat with its positions as they stand."""

    heat: Heat
    close: HeatClose | None
    named: tuple[PortRows, ...]

    @property
    def is_open(self) -> bool:
        """The head is hot, or on its way."""
        return self.close is None

    @property
    def pressed(self) -> tuple[PortRows, ...]:
        """Their rings went in in it."""
        return tuple(rows for rows in self.named if self.took(rows))

    @property
    def waiting(self) -> tuple[PortRows, ...]:
        """Their rings are still to go in in it."""
        return tuple(rows for rows in self.named if not self.took(rows))

    def took(self, rows: PortRows) -> bool:
        """This position's ring went in in this heat."""
        return rows.pressed is not None and rows.pressed.heat == self.heat.nth

    @property
    def told(self) -> str:
        """``oven, to 120 °C``."""
        wanted = f"to {self.heat.wanted_c:g} °C" if self.heat.wanted_c is not None else ""
        return ", ".join(filter(None, [self.heat.heated_by, wanted]))


def heats_of(session: Session, sheet: HeadSheet) -> tuple[HeatRows, ...]:
    """Every heat of a head, the first first."""
    heats = session.exec(
        select(Heat).where(Heat.head_id == sheet.head.id).order_by(col(Heat.nth))
    ).all()
    if not heats:
        return ()
    ids = [heat.id for heat in heats]
    closes = session.exec(select(HeatClose).where(col(HeatClose.heat_id).in_(ids)))
    over = {close.heat_id: close for close in closes}
    named = session.exec(select(HeatPort).where(col(HeatPort.heat_id).in_(ids))).all()
    return tuple(
        HeatRows(
            heat,
            over.get(heat.id),
            tuple(
                rows
                for rows in sheet.rows.ports
                if any(one.heat_id == heat.id and one.port_id == rows.port.id for one in named)
            ),
        )
        for heat in heats
    )


def open_heat(session: Session, head_id: int) -> Heat | None:
    """The heat that is not over; a head has at most one."""
    return session.exec(
        select(Heat)
        .outerjoin(HeatClose, col(HeatClose.heat_id) == col(Heat.id))
        .where(Heat.head_id == head_id, col(HeatClose.id).is_(None))
        .order_by(col(Heat.nth).desc())
    ).first()


def warm_rings(sheet: HeadSheet) -> tuple[PortRows, ...]:
    """Positions whose ring was in a hot head, while nobody recorded that it is cold."""
    return tuple(rows for rows in sheet.rows.ports if sheet.facts.port(rows.label).is_warm)


def warm_words(session: Session, sheet: HeadSheet) -> str:
    """Why nothing of this head is measured or cut now; empty once it is cold."""
    heat = open_heat(session, sheet.head.id)
    if heat is not None:
        return f"Heat {heat.nth} is not over: the head is warm"
    warm = warm_rings(sheet)
    if not warm:
        return ""
    return (
        f"The head was heated for {listed([rows.label for rows in warm])}, and that it is cold "
        "again is not recorded"
    )


def loosened_by(sheet: HeadSheet) -> tuple[PortRows, ...]:
    """Rings pressed here that another heat would loosen."""
    return tuple(
        rows
        for rows in sheet.rows.ports
        if rows.port.work is Work.RING and rows.ring_in is not None
    )


def heats_apart(heats: Sequence[HeatRows]) -> str:
    """What to look at where rings of one head went in in different heats; else nothing."""
    took = [heat for heat in heats if heat.pressed]
    if len(took) < 2:
        return ""
    told = "; ".join(
        f"{listed([rows.label for rows in heat.pressed])} in heat {heat.heat.nth}" for heat in took
    )
    return (
        f"Rings of this head went in in {len(took)} heats ({told}). A later heat loosens what is "
        "in already: feel under those once more when the head is cold"
    )
