"""Vacuum tests along a head: one method and gauge, figures for each position."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.calc.trace import Step
from app.db import Database
from app.forms.leak_tests import FIGURES, LeakTestsForm
from app.models.customer import Customer
from app.queries.figured_inspections import Figured, newest_figured
from app.queries.leak_tests import as_said
from app.queries.people import readers
from app.queries.shop_rules import current_rules
from app.services.leak_tests import pull_vacuum
from app.services.owned import the_head
from app.web.access import may
from app.web.answers import answer
from app.web.bench_page import strip_words
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.kinds import ReadingKind, VacuumUnit
from app.workflow.permissions import Verb
from app.workflow.shop_rules import ShopRules
from app.workflow.words import InspectionKind, Outcome
from app.worksheets.head_rows import load_read
from app.worksheets.leak_tests import line_words, worked_leak

router = APIRouter()
METHODS = ("pump at each port, springs on", "pump at each port, springs off, light oil", "solvent")
REASONS = ("no vacuum pump here", "the customer declined", "tested by solvent instead")


@router.get("/heads/{head_id}/vacuum", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return _page(request, db, head_id, None)


@router.post("/heads/{head_id}/vacuum", dependencies=[may(Verb.INSPECT)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        _, head = the_head(session, head_id)
        ports = load_read(session, head, ReadingKind.VALVES)
    form = LeakTestsForm(sent.fields, ids={rows.port.id: rows.label for rows in ports})
    return answer(
        request,
        sent,
        form,
        lambda tx: pull_vacuum(tx, head_id, form),
        then=lambda head: f"/heads/{head.id}/vacuum",
        show=lambda status: _page(request, db, head_id, form, status),
        said="Recorded.",
    )


def _page(
    request: Request, db: Database, head_id: int, form: LeakTestsForm | None, status: int = 200
) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        ports = load_read(session, head, ReadingKind.VALVES)
        tests = newest_figured(session, head.id, InspectionKind.VACUUM, of_positions=True)
        rules = current_rules(session)
        customer = session.get(Customer, job.customer_id) if job.customer_id else None
        people = readers(session)
    labels = {rows.port.id: rows.label for rows in ports}
    is_over = job.ended_as is not None or job.voided_at is not None
    return page(
        request,
        "leak_tests/edit.html",
        status,
        nav="bench",
        job=job,
        head=head,
        who=strip_words(job, head, customer),
        ports=[(rows.port, rows.position, tests.get(rows.port.id)) for rows in ports],
        workings=_workings(tests, labels, rules),
        line=line_words(rules),
        start=rules.shown("vacuum_start"),
        form=form or LeakTestsForm.showing(_as_kept(tests, rules)),
        names={
            **LeakTestsForm.names,
            **{f"had_{port_id}": label for port_id, label in labels.items()},
        }
        | {
            f"{name}_{port_id}": f"{label}, {words}"
            for port_id, label in labels.items()
            for name, words in (
                *zip(FIGURES, ("start", "end", "seconds"), strict=True),
                ("outcome", "outcome"),
                ("note", "in words"),
            )
        },
        units=[(unit.value, unit.screen) for unit in VacuumUnit],
        outcomes=[(outcome.value, outcome.screen) for outcome in Outcome],
        methods=METHODS,
        reasons=REASONS,
        readers=people,
        may_inspect=request.state.may(Verb.INSPECT) and not is_over,
        is_over=is_over,
    )


def _workings(
    tests: Mapping[int | None, Figured], labels: Mapping[int, str], rules: ShopRules
) -> list[tuple[str, tuple[Step, ...]]]:
    """The kept figures against the line as it holds today."""
    found = []
    for port_id, label in labels.items():
        test = tests.get(port_id)
        if test is not None and test.figures:
            found.append((label, worked_leak(test.exact, test.unit, rules).working))
    return found


def _as_kept(tests: Mapping[int | None, Figured], rules: ShopRules) -> dict[str, object]:
    """Every position as it was said; seconds that most have stand once above them."""
    done = [test for test in tests.values() if test.figures]
    times = Counter(test.typed["seconds"] for test in done)
    seconds = times.most_common(1)[0][0] if times else rules.value("vacuum_seconds")
    found: dict[str, object] = {
        "seconds": seconds,
        "unit": done[-1].unit if done else VacuumUnit.INHG,
        "method": next((test.row.method for test in tests.values() if test.row.method), ""),
    }
    for port_id, test in tests.items():
        said = as_said(test)
        found |= {f"{name}_{port_id}": text for name, text in said.figures.items()}
        if said.figures.get("seconds") == seconds:
            found[f"seconds_{port_id}"] = ""
        found[f"outcome_{port_id}"] = said.outcome
        found[f"note_{port_id}"] = said.note
    return found
