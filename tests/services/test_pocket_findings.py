"""Clean-up, wall and web as they were taken with a setting fall with the readings under them."""

from __future__ import annotations

import pytest
from sqlmodel import Session, col, select

from app.models.result import NoLongerStands, Result
from app.models.setting import Setting
from app.services.cuts import open_cut
from app.workflow.kinds import ResultKind
from app.worksheets.facts import load_sheet
from tests.services.floor import Done, Floor


def set_over_old_rings(floor: Floor) -> None:
    """2E and 3E have old rings out, are measured and set for, and the head is clamped up."""
    floor.hands.by(floor.cast.service_writer).decide(
        floor.head, {"2E": "ring", "3E": "ring", "4E": "leave", "*": "seat_only"}, {"*": "ring"}
    )
    floor.hands.by(floor.cast.machinist)
    pocket = ["1.6000", "1.5998", ".0040", ".2480"]
    floor.hands.pockets(floor.head, {"2E": pocket, "3E": pocket})
    floor.set_and_clamped()


@pytest.fixture
def stage() -> Done:
    return set_over_old_rings


@pytest.fixture
def setting(floor: Floor) -> Setting:
    return floor.setting


def accepted(session: Session, floor: Floor, label: str) -> Result:
    """The newest clean-up taken at a position."""
    pass_id = load_sheet(session, floor.head).rows.port(floor.ports[label].id).port_pass
    assert pass_id is not None
    return session.exec(
        select(Result)
        .where(Result.port_pass_id == pass_id.id, Result.kind == ResultKind.CLEAN_UP)
        .order_by(col(Result.id).desc())
    ).first()  # type: ignore[return-value]


def stale(floor: Floor, label: str) -> tuple[ResultKind, ...]:
    with floor.database.read() as session:
        return load_sheet(session, floor.head).facts.port(label).no_longer_stands


def test_a_setting_takes_the_clean_up_as_it_was_shown(floor: Floor, setting: Setting) -> None:
    with floor.database.read() as session:
        record = accepted(session, floor, "2E").record
    assert '"cleans_up":true' in record
    assert stale(floor, "2E") == ()


def test_an_old_pocket_typed_again_leaves_the_clean_up_without_ground(
    floor: Floor, setting: Setting
) -> None:
    floor.hands.later(minutes=1)
    floor.hands.pockets(floor.head, {"2E": ["1.6200", "1.5998", ".0040", ".2480"]})
    assert stale(floor, "2E") == (ResultKind.CLEAN_UP,)
    assert stale(floor, "3E") == ()
    with floor.database.read() as session:
        gone = session.exec(select(NoLongerStands)).one()
    assert gone.because == "a reading under it was typed again"
    assert gone.redo == "Read the old pocket again; look at clean-up and depth anew."


def test_opening_the_position_takes_the_clean_up_as_it_stands_now(
    floor: Floor, setting: Setting
) -> None:
    floor.hands.later(minutes=1)
    floor.hands.pockets(floor.head, {"2E": ["1.6010", "1.5998", ".0040", ".2480"]})
    with floor.database.read() as session:
        before = accepted(session, floor, "2E").id
    with floor.hands.writing() as tx:
        open_cut(tx, floor.ports["2E"], setting.id, was_touched=True)
    assert stale(floor, "2E") == ()
    with floor.database.read() as session:
        assert accepted(session, floor, "2E").id > before
