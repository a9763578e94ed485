"""What an old pocket said of a counterbore when it was set for and cut: frozen as accepted."""

from __future__ import annotations

from app.models.port_pass import PortPass
from app.services.results import accept
from app.services.write import Write
from app.workflow.kinds import ResultKind
from app.workflow.shop_rules import ShopRules
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows
from app.worksheets.pockets import pocket_findings


def accept_pocket(
    tx: Write, sheet: HeadSheet, rows: PortRows, port_pass: PortPass, rules: ShopRules
) -> None:
    """Whoever makes a setting for a position, or opens it, takes clean-up, wall and web as shown.

    Frozen, a reading that is struck afterwards says at the position what to look at again.
    """
    found = pocket_findings(sheet.rows, rows, sheet.targets, rules)
    if found.clean_up is not None:
        accept(
            tx,
            ResultKind.CLEAN_UP,
            found.clean_up,
            readings=found.under_clean_up,
            port_pass_id=port_pass.id,
        )
    metal = [each for each in (found.wall, found.web) if each is not None]
    if metal:
        accept(
            tx,
            ResultKind.WALL_WEB,
            {
                "working": [step for each in metal for step in each.working],
                "wall": found.wall,
                "web": found.web,
            },
            readings=found.under_metal,
            port_pass_id=port_pass.id,
        )
