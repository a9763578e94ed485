"""Heat cases: the shop's own over the assumed ones, as versions."""

from __future__ import annotations

import pytest
from sqlmodel import Session, col, select

from app.db import Database
from app.models.event import Event
from app.models.heat_case import HeatCase
from app.queries.heat_cases import case_groups, case_view
from app.services.heat_cases import (
    add_heat_case,
    restore_heat_case,
    retire_heat_case,
    set_heat_case,
)
from app.services.write import NotFound, Refused
from app.workflow.heat_cases import DEFAULT_CASES, Metal
from app.workflow.words import Kind
from app.worksheets.heat_cases import cases_in_force
from tests.services.cast import Cast
from tests.services.conftest import Writing

ALUMINIUM, IRON = Metal.ALUMINIUM, Metal.IRON
EXHAUST, INTAKE = Kind.EXHAUST, Kind.INTAKE
HARD = (ALUMINIUM, EXHAUST, "hard")


def told(session: Session, metal: Metal = ALUMINIUM, kind: Kind = EXHAUST) -> list[str]:
    held = cases_in_force(session)[metal, kind]
    return [f"{one.name} {one.ring_c}/{one.head_c}" for one in held]


def test_the_assumed_cases_hold_until_the_shop_says_otherwise(
    database: Database, cast: Cast
) -> None:
    with database.read() as session:
        assert told(session) == [
            "cold start -30/-30",
            "running 250/170",
            "hard 300/200",
            "overheated 250/250",
        ]
        assert cases_in_force(session) == {
            where: tuple(cases) for where, cases in DEFAULT_CASES.items()
        }


def test_a_case_set_is_a_new_version_and_the_newest_holds(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        set_heat_case(tx, *HARD, "hard", 320, 210, "thermocouple in a test head")
        set_heat_case(tx, *HARD, "on the dyno", 330, 215, "read again")
    with database.read() as session:
        assert told(session)[2] == "on the dyno 330/215"
        view = case_view(session, *HARD)
        assert view is not None
        assert [one.row.ring_c for one in view.history] == [330, 320]
        assert view.history[0].by == "Olive"
        assert told(session, kind=INTAKE)[2] == "hard 220/180"
        assert told(session, metal=IRON)[2] == "hard 400/250"


def test_an_added_case_stands_after_the_assumed_ones(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        add_heat_case(tx, ALUMINIUM, EXHAUST, "hot soak", 200, 200, "after a hard run")
        add_heat_case(tx, ALUMINIUM, EXHAUST, "trailer", 280, 190, "towing")
    with database.read() as session:
        assert told(session)[4:] == ["trailer 280/190", "hot soak 200/200"]
        assert len(told(session, kind=INTAKE)) == 4


def test_a_retired_case_is_out_of_the_look_and_can_come_back(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        retire_heat_case(tx, *HARD, "no such engine here")
    with database.read() as session:
        assert "hard 300/200" not in told(session)
        group = next(
            one for one in case_groups(session) if (one.metal, one.kind) == (ALUMINIUM, EXHAUST)
        )
        assert [row.source for row in group.out] == ["no such engine here"]
    with writing(by=cast.owner) as tx:
        restore_heat_case(tx, *HARD, "one came in")
    with database.read() as session:
        assert told(session)[2] == "hard 300/200"


def test_an_added_case_that_is_retired_is_gone_and_keeps_its_past(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        row = add_heat_case(tx, IRON, INTAKE, "marine", 180, 90, "raw water cooled")
        retire_heat_case(tx, IRON, INTAKE, row.key, "sold the boat")
    with database.read() as session:
        assert len(told(session, IRON, INTAKE)) == 4
        assert [one.is_retired for one in session.exec(select(HeatCase))] == [False, True]


def test_the_log_keeps_temperatures_and_no_texts(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        set_heat_case(tx, *HARD, "hard", 320, 210, "Olive said so")
    with database.read() as session:
        body = session.exec(select(Event.body).order_by(col(Event.id).desc())).first()
    assert body is not None
    assert '"was":[300,200]' in body
    assert "Olive" not in body


@pytest.mark.parametrize(
    ("name", "ring_c", "head_c", "source", "field"),
    [
        ("", 300, 200, "x", "name"),
        ("hard", 501, 200, "x", "ring_c"),
        ("hard", 300, -61, "x", "head_c"),
        ("hard", 300, 210, " ", "source"),
    ],
)
def test_a_refused_case_leaves_the_old_one_as_it_was(
    database: Database,
    writing: Writing,
    name: str,
    ring_c: int,
    head_c: int,
    source: str,
    field: str,
) -> None:
    with pytest.raises(Refused) as no, writing() as tx:
        set_heat_case(tx, *HARD, name, ring_c, head_c, source)
    assert no.value.field == field
    with database.read() as session:
        assert session.exec(select(HeatCase)).first() is None


def test_what_holds_already_is_not_written_again(writing: Writing) -> None:
    with writing() as tx:
        set_heat_case(tx, *HARD, "hard", 320, 210, "x")
    with pytest.raises(Refused), writing() as tx:
        set_heat_case(tx, *HARD, "hard", 320, 210, "x")
    with pytest.raises(Refused), writing() as tx:
        restore_heat_case(tx, ALUMINIUM, EXHAUST, "running", "why not")
    with writing() as tx:
        retire_heat_case(tx, *HARD, "x")
    with pytest.raises(Refused, match="already"), writing() as tx:
        retire_heat_case(tx, *HARD, "x")


def test_a_page_opened_before_another_change_does_not_overwrite_it(writing: Writing) -> None:
    with writing() as tx:
        set_heat_case(tx, *HARD, "hard", 320, 210, "x", seen="assumed")
    with pytest.raises(Refused, match="changed while the page was open"), writing() as tx:
        set_heat_case(tx, *HARD, "hard", 310, 205, "y", seen="assumed")


def test_a_case_that_never_was_is_not_found(writing: Writing) -> None:
    with pytest.raises(NotFound), writing() as tx:
        set_heat_case(tx, ALUMINIUM, EXHAUST, "own_9", "x", 100, 100, "x")
    with pytest.raises(NotFound), writing() as tx:
        retire_heat_case(tx, ALUMINIUM, EXHAUST, "own_9", "x")
    with writing() as tx:
        row = add_heat_case(tx, IRON, INTAKE, "marine", 180, 90, "x")
    with pytest.raises(NotFound, match="none to go back to"), writing() as tx:
        restore_heat_case(tx, IRON, INTAKE, row.key, "x")
