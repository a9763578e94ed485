"""Inspections of a head: the newest of a kind counts, earlier ones stay on record."""

from __future__ import annotations

from sqlmodel import Session, col, select

from app.calc.quantities import HARDNESS
from app.forms.inspections import Inspected, InspectionsForm
from app.models.head import Head
from app.models.inspection import Inspection, InspectionFigure
from app.models.person import Person
from app.queries.inspected import figure_rows
from app.services.earlier import taken
from app.services.head_decisions import decide_head
from app.services.owned import open_head
from app.services.stages import refresh_stages
from app.services.write import Refused, Write, use_case
from app.workflow.words import InspectionKind


@use_case
def record_inspections(tx: Write, head_id: int, form: InspectionsForm) -> Head:
    """What was said anew; an outcome that stands as the page showed it is not written twice."""
    job, head = open_head(tx, head_id)
    newest = newest_inspections(tx.session, head.id)
    figures = {
        inspection_id: {row.place: row.typed for row in rows}
        for inspection_id, rows in figure_rows(
            tx.session, [row.id for row in newest.values()]
        ).items()
    }
    when = taken(tx, form.earlier, head)
    recorded: list[Inspection] = []
    for said in form.said:
        there = newest.get(said.kind)
        if (
            there is not None
            and not said.is_again
            and _is_as_kept(said, there)
            and figures.get(there.id, {}) == said.figures
        ):
            continue
        _refuse_clash(tx.session, said, there)
        row = tx.add(
            Inspection(
                head_id=head.id,
                kind=said.kind,
                outcome=said.outcome,
                method=said.method,
                found=said.found,
                because=said.because,
                taken_at=when.at,
                read_by_id=when.by_id if form.earlier else None,
                by_id=tx.by_id,
                at=tx.at,
            )
        )
        recorded.append(row)
        for place, typed in said.figures.items():
            tx.session.add(
                InspectionFigure(
                    inspection_id=row.id,
                    place=place,
                    number=float(typed.replace(",", ".")),
                    unit=HARDNESS.unit,
                    typed=typed,
                )
            )
    if form.decided is not None:
        decide_head(tx, head.id, form.decided)
    if not recorded:
        return head if tx.logged else tx.leave(head)
    refresh_stages(tx, head)
    tx.log(
        "recorded inspections",
        head,
        job=job,
        head=head,
        inspections=[[row.id, row.kind, row.outcome] for row in recorded],
    )
    return head


def newest_inspections(session: Session, head_id: int) -> dict[InspectionKind, Inspection]:
    """The newest of each kind, of the head itself."""
    rows = session.exec(
        select(Inspection)
        .where(Inspection.head_id == head_id, col(Inspection.port_id).is_(None))
        .order_by(col(Inspection.id))
    )
    return {row.kind: row for row in rows}


def _is_as_kept(said: Inspected, there: Inspection) -> bool:
    return (said.outcome, said.method, said.found, said.because) == (
        there.outcome,
        there.method,
        there.found,
        there.because,
    )


def _refuse_clash(session: Session, said: Inspected, there: Inspection | None) -> None:
    if there is None or there.id == said.had_id:
        return
    name = session.get_one(Person, there.by_id).name
    raise Refused(
        f"{name} recorded “{there.outcome.screen}” after this page was opened. Nothing of this "
        "page was stored yet: look at both, and send it again if yours is to count.",
        f"outcome_{said.kind}",
    )
