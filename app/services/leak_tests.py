"""Vacuum tests of the positions of a head: the outcome follows from the figures and the rule."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from sqlmodel import Session

from app.forms.leak_tests import FIGURES, LeakTested, LeakTestsForm
from app.models.head import Head
from app.models.inspection import Inspection, InspectionFigure
from app.queries.figured_inspections import Figured, newest_figured
from app.queries.leak_tests import as_said
from app.queries.shop_rules import current_rules
from app.services.earlier import taken
from app.services.owned import open_head, port_of
from app.services.write import Refused, Write, use_case
from app.workflow.shop_rules import ShopRules
from app.workflow.words import InspectionKind, Outcome
from app.worksheets.leak_tests import SEEN, leak_words, worked_leak

AS_KEPT = "This is what stands already; nothing was changed."


@use_case
def pull_vacuum(tx: Write, head_id: int, form: LeakTestsForm) -> Head:
    """Write down the tests that the page says anew; earlier ones stay on record."""
    job, head = open_head(tx, head_id)
    newest = newest_figured(tx.session, head.id, InspectionKind.VACUUM, of_positions=True)
    rules = current_rules(tx.session)
    when = taken(tx, form.earlier, head)
    recorded: list[tuple[str, Inspection]] = []
    for port_id, said in form.said.items():
        label = port_of(tx.session, head, port_id).label
        there = newest.get(port_id)
        if there is not None and _is_as_kept(said, form, there):
            continue
        if there is not None and there.row.id != said.had_id:
            raise Refused(
                f"{there.looked.typed_by} recorded “{there.row.outcome.screen}” after "
                "this page was opened. Nothing of this page was stored yet: look at both, and "
                "send it again if yours is to count.",
                f"had_{port_id}",
            )
        outcome, found = _judged(said, label, port_id, form.unit.value, rules)
        row = tx.add(
            Inspection(
                head_id=head.id,
                port_id=port_id,
                kind=InspectionKind.VACUUM,
                outcome=outcome,
                method="" if outcome is Outcome.NOT_DONE else form.method,
                found=found,
                because=said.note if outcome is Outcome.NOT_DONE else "",
                taken_at=when.at,
                read_by_id=when.by_id if form.earlier else None,
                by_id=tx.by_id,
                at=tx.at,
            )
        )
        keep_figures(tx.session, row, said.figures, form.unit.value)
        recorded.append((label, row))
    if not recorded:
        raise Refused(AS_KEPT)
    tx.log(
        "tested positions by vacuum",
        head,
        job=job,
        head=head,
        tests=[[label, row.id, row.outcome] for label, row in recorded],
    )
    return head


def keep_figures(session: Session, row: Inspection, typed: Mapping[str, str], unit: str) -> None:
    """The figures of one inspection, each with its unit and as it was typed."""
    session.add_all(
        InspectionFigure(
            inspection_id=row.id,
            place=place,
            number=float(text),
            unit="s" if place == "seconds" else unit,
            typed=text,
        )
        for place, text in typed.items()
    )


def _judged(
    said: LeakTested, label: str, port_id: int, unit: str, rules: ShopRules
) -> tuple[Outcome, str]:
    """The outcome, and what was found: figures against the line as it holds now."""
    if not said.figures:
        assert said.outcome is not None
        return said.outcome, "" if said.outcome is Outcome.NOT_DONE else said.note
    figures = {name: Fraction(said.figures[name]) for name in FIGURES}
    test = worked_leak(figures, unit, rules)
    words = leak_words(figures, unit, rules)
    found = f"{words}{SEEN}{said.note}" if said.note else words
    if said.outcome is not None:
        return said.outcome, found[:400]
    if test.holds_enough and test.loses_little and not test.is_watched:
        raise Refused(
            f"{label} was watched for {said.figures['seconds']} s, and the shop's line is over "
            f"{rules.shown('vacuum_seconds')}: watch it for longer, or say yourself how it ended. "
            "Nothing of this page was stored yet.",
            f"outcome_{port_id}",
        )
    return (Outcome.OK if test.passes else Outcome.NOT_OK), found[:400]


def _is_as_kept(said: LeakTested, form: LeakTestsForm, there: Figured) -> bool:
    kept = as_said(there)
    if (said.outcome, dict(said.figures), said.note) != (kept.outcome, kept.figures, kept.note):
        return False
    if said.outcome is Outcome.NOT_DONE:
        return True
    return form.method == there.row.method and there.unit in ("", form.unit.value)
