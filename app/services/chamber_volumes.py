"""Chamber volumes of a head: read, held against the shop's figure, and kept."""

from __future__ import annotations

from fractions import Fraction

from app.forms.chamber_volumes import ChamberVolumesForm
from app.models.head import Head
from app.models.inspection import Inspection
from app.queries.figured_inspections import Figured, newest_figured
from app.queries.shop_rules import current_rules
from app.services.earlier import taken
from app.services.leak_tests import AS_KEPT, keep_figures
from app.services.owned import open_head
from app.services.write import Refused, Write, use_case
from app.workflow.words import InspectionKind, Outcome
from app.worksheets.chamber_volumes import match_words, matched


@use_case
def measure_chambers(tx: Write, head_id: int, form: ChamberVolumesForm) -> Head:
    """Write the volumes down with how they match by the figure that holds now."""
    job, head = open_head(tx, head_id)
    kind = InspectionKind.CHAMBER_VOLUMES
    there = newest_figured(tx.session, head.id, kind, of_positions=False).get(None)
    if there is not None and _is_as_kept(form, there):
        raise Refused(AS_KEPT)
    if there is not None and there.row.id != form.had_id:
        raise Refused(
            f"{there.looked.typed_by} recorded chamber volumes after this page was opened. Nothing "
            "of this page was stored yet: look at both, and send it again if yours are to count.",
            "had",
        )
    rules = current_rules(tx.session)
    outcome, found = Outcome.NOT_DONE, ""
    if form.volumes:
        match = matched({name: Fraction(text) for name, text in form.volumes.items()}, rules)
        outcome = Outcome.OK if match.matches else Outcome.NOT_OK
        found = match_words(match, rules)[:400]
    when = taken(tx, form.earlier, head)
    row = tx.add(
        Inspection(
            head_id=head.id,
            kind=kind,
            outcome=outcome,
            method=form.method,
            found=found,
            because=form.because,
            taken_at=when.at,
            read_by_id=when.by_id if form.earlier else None,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    keep_figures(tx.session, row, form.volumes, "cm³")
    tx.log("measured chambers", head, job=job, head=head, inspection=row.id, volumes=form.volumes)
    return head


def _is_as_kept(form: ChamberVolumesForm, there: Figured) -> bool:
    row = there.row
    return (form.volumes, form.because) == (there.typed, row.because) and (
        form.method == row.method or not form.volumes
    )
