"""The figure over the crib: what each tip in use cuts over its set size."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session

from app.calc.overcut import overcut
from app.models.crib import Cutter
from app.queries.crib import in_use
from app.queries.drift import cuts_of_tips_in
from app.queries.figure_views import Column, Figure, Holds, Row
from app.queries.finished_months import FinishedMonths
from app.workflow.overcut_advice import look_here, tip_state
from app.workflow.periods import Period
from app.worksheets.overcut import signs_by_material
from app.worksheets.shop_rules import current_rules


def overcut_of_tips(
    session: Session, period: Period, zone: ZoneInfo, at: datetime, kept: FinishedMonths
) -> Figure:
    """What each tip in use cuts over its set size; the period does not bound it."""
    cutters = in_use(session, Cutter)
    cuts = cuts_of_tips_in(session, cutters)
    rules = current_rules(session)
    rows, every = [], 0
    for cutter in cutters:
        for material, signs in signs_by_material(cuts[cutter.id], rules).items():
            learned = overcut(cuts=cuts[cutter.id][material])
            every += signs.count
            rows.append(
                Row(
                    (
                        cutter.name,
                        material.screen,
                        signs.count,
                        learned.mean,
                        tip_state(signs).screen,
                        look_here(signs) or "no sign beyond scatter",
                    ),
                    f"/crib/cutters/{cutter.id}#overcut-{material.value}",
                )
            )
    return Figure(
        key="overcut",
        title="Overcut of each tip",
        definition="Bore measured less size set, of signed bores since the tip that is in the "
        "cutter now was changed or ground, whatever the period; cuts that were left out do not "
        "count. Each cutter's own page has the chart, cut by cut, with its limits and signs.",
        count=every,
        cases="signed bores of tips in use",
        said=(),
        pictures=(),
        columns=(
            Column("Cutter"),
            Column("Head material"),
            Column("Cuts", Holds.COUNT),
            Column("Mean overcut", Holds.LENGTH, 5),
            Column("Stands"),
            Column("What its cuts show"),
        ),
        rows=tuple(rows),
        few=False,
    )
