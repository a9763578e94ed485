"""The grip of a new guide: frozen when its position is signed, with the readings under it."""

from __future__ import annotations

from app.services.results import accept
from app.services.write import Write
from app.workflow.kinds import Quantity, ResultKind
from app.workflow.shop_rules import ShopRules
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows
from app.worksheets.materials import head_figures
from app.worksheets.new_guides import grip_of, is_pressed_in


def accept_grip(tx: Write, sheet: HeadSheet, rows: PortRows, rules: ShopRules) -> None:
    """Whoever signs a position with a new guide takes its grip as shown; a guide that nobody
    measured has none, and its position is signed all the same."""
    if not is_pressed_in(rows):
        return
    figures = head_figures(tx.session, sheet.head)
    grip = grip_of(rows, figures, rules, sheet.rows.job.job.unit.value)
    read = rows.new_guides
    if grip is None or grip.found is None or read is None:
        return
    accept(
        tx,
        ResultKind.GUIDE_GRIP,
        grip.found,
        readings=[
            kept.id
            for quantity in (Quantity.NEW_GUIDE, Quantity.GUIDE_HOUSING)
            for kept in read.of(quantity)
        ],
        port_id=rows.port.id,
    )
