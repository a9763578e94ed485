"""Recording one reading stays quick however much is on record about the head."""

from __future__ import annotations

from sqlalchemy import event

from app.forms.readings import GridForm
from app.models.head import Head
from app.services.readings import record_readings
from app.services.stages import refresh_stages
from app.workflow.grids import FINISH
from app.workflow.kinds import ReadingKind
from app.worksheets.cells import cells_of
from app.worksheets.readings import Subject, load_one
from tests.services.floor import Floor

MOST_STATEMENTS = 10


def _record_one(floor: Floor) -> list[str]:
    port = floor.ports["1I"]
    with floor.database.read() as session:
        readings = load_one(session, ReadingKind.FINISH, Subject("port", port.id))
    cells = cells_of(readings, FINISH, about="1I", unit=floor.job.unit)
    form = GridForm({cells[0].name: ".062"}, cells)
    statements: list[str] = []

    def note(_connection, _cursor, statement, *_rest):  # type: ignore[no-untyped-def]
        statements.append(statement)

    event.listen(floor.database.engine, "before_cursor_execute", note)
    try:
        with floor.hands.writing() as tx:
            record_readings(tx, floor.head, form.entries)
    finally:
        event.remove(floor.database.engine, "before_cursor_execute", note)
    return statements


def test_one_reading_takes_at_most_ten_statements(floor: Floor) -> None:
    statements = _record_one(floor)
    assert any("INSERT INTO reading " in statement for statement in statements)
    assert len(statements) <= MOST_STATEMENTS


def test_a_reading_leaves_stored_stages_due_and_the_next_change_stores_them(floor: Floor) -> None:
    _record_one(floor)
    with floor.database.read() as session:
        assert session.get_one(Head, floor.head.id).stages_due
    with floor.hands.writing() as tx:
        refresh_stages(tx, tx.session.get_one(Head, floor.head.id))
    with floor.database.read() as session:
        assert not session.get_one(Head, floor.head.id).stages_due
