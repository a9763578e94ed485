"""What leaves the shop leaves it alike on both databases."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlmodel import col, func, select

from app.config import Settings
from app.forms.shop_lists import CustomerListForm
from app.keeping.export import export_shop
from app.models.reading import Reading
from app.queries.job_documents import job_document
from app.queries.lists import OnlyHolds, customers_table, holds_table
from app.queries.lists_in import known_boxes, known_customers
from app.queries.plain_rows import plain
from app.queries.position_documents import position_document, positions_after
from app.queries.spreadsheet import csv_lines
from app.services.lists_in import import_customers
from app.services.write import Refused
from app.workflow.kinds import Unit
from app.workflow.words import Stage
from app.worksheets.facts import shop_zone
from tests.services.floor import Floor


@pytest.fixture
def stage() -> Callable[[Floor], object]:
    return Floor.bored


def test_a_job_its_positions_and_the_whole_shop_are_written_out(
    floor: Floor, make_settings: Callable[..., Settings], tmp_path: Path
) -> None:
    with floor.database.read() as session:
        document = job_document(session, floor.job)
        zone = shop_zone(session)
        readings = session.exec(select(func.count(col(Reading.id)))).one()
        bored = positions_after(
            session, 0, 50, job=floor.job.number, stage=Stage.VERIFY, material=None, signed=False
        )
        one = position_document(session, floor.ports["3E"].id)
        assert known_boxes(session).newest > 0
    text = json.dumps(document, default=plain)
    assert text.count('"client_key"') == 0
    assert bored
    assert one is not None
    assert one["passes"][0]["cuts"]
    holds = list(csv_lines(holds_table(floor.database, zone, OnlyHolds.ALL)))
    assert holds[0].startswith("Job,Head,Position,Stopped")
    assert len(list(csv_lines(customers_table(floor.database)))) > 1
    settings = make_settings(database_url=floor.database.url.render_as_string(False))
    made = export_shop(floor.database, settings, tmp_path / "all.zip", lambda *_: None)
    with zipfile.ZipFile(made.path) as found:
        assert len(found.read("records/reading.jsonl").splitlines()) == readings


def test_a_list_brought_in_is_looked_at_before_and_adds_nobody_twice(floor: Floor) -> None:
    typed = {"list": "name,phone\nOrchard Engines,555-0177\n", "unit": "in"}

    def looked_at(**more: str) -> CustomerListForm:
        with floor.database.read() as session:
            known = known_customers(session)
        return CustomerListForm(
            {**typed, **more}, unit=Unit.INCH, known=known.keys, known_newest=known.newest
        )

    form = looked_at()
    with floor.hands.writing() as tx, pytest.raises(Refused, match="look at it once more"):
        import_customers(tx, form)
    first, second = (looked_at(looked_at=form.mark) for _ in range(2))
    with floor.hands.writing() as tx:
        assert import_customers(tx, first).name == "Orchard Engines"
    with floor.hands.writing() as tx, pytest.raises(Refused, match="Someone added some"):
        import_customers(tx, second)
    assert [line.is_known for line in looked_at().lines] == [True]
