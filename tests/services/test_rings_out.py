"""How old rings came out: the newest word counts, and only what is new is written."""

from __future__ import annotations

import pytest
from sqlmodel import select

from app.db import Database
from app.forms.rings_out import RingsOutForm
from app.models.inspection import RingOut
from app.queries.rings_out import rings_out
from app.services.rings_out import AS_KEPT, take_rings_out
from app.services.write import Refused
from app.workflow.kinds import OldFloor, RingOutWay
from tests.services.conftest import Writing
from tests.services.floor import Floor


def form(floor: Floor, **fields: str) -> RingsOutForm:
    ids = {floor.ports[label].id: label for label in ("2E", "3E")}
    by_label = {label: port_id for port_id, label in ids.items()}
    raw = {}
    for name, value in fields.items():
        what, _, label = name.partition("_")
        raw[f"{what}_{by_label[label]}" if label in by_label else name] = value
    return RingsOutForm(raw, ids=ids)


def written(database: Database) -> int:
    with database.read() as session:
        return len(session.exec(select(RingOut.id)).all())


def test_one_word_for_all_is_written_for_each(
    floor: Floor, database: Database, writing: Writing
) -> None:
    with writing() as tx:
        take_rings_out(tx, floor.head.id, form(floor, all_way="thinned", all_floor="untouched"))
    with database.read() as session:
        found = rings_out(session, [port.id for port in floor.ports.values()])
    assert {out.row.way for out in found.values()} == {RingOutWay.THINNED}
    assert len(found) == 2
    assert {out.by for out in found.values()} == {"Max"}


def test_the_newest_word_counts_and_the_old_one_stays(
    floor: Floor, database: Database, writing: Writing
) -> None:
    with writing() as tx:
        take_rings_out(tx, floor.head.id, form(floor, all_way="thinned", all_floor="untouched"))
    with writing() as tx:
        take_rings_out(
            tx,
            floor.head.id,
            form(floor, all_way="thinned", all_floor="untouched", floor_2E="touched"),
        )
    with database.read() as session:
        found = rings_out(session, [floor.ports["2E"].id])
    assert found[floor.ports["2E"].id].row.floor is OldFloor.TOUCHED
    assert written(database) == 3


def test_what_stands_already_is_not_written_again(
    floor: Floor, database: Database, writing: Writing
) -> None:
    said = {"way_2E": "pulled", "floor_2E": "not_seen"}
    with writing() as tx:
        take_rings_out(tx, floor.head.id, form(floor, **said))
    with pytest.raises(Refused, match=AS_KEPT), writing() as tx:
        take_rings_out(tx, floor.head.id, form(floor, **said))
    assert written(database) == 1


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"way_2E": "pulled"}, "say what became of the floor of 2E"),
        ({"floor_2E": "touched"}, "say how the ring of 2E came out"),
        ({"way_2E": "other", "floor_2E": "touched"}, "say in a few words how 2E came out"),
        ({"way_2E": "blown"}, "not one of the choices"),
        ({}, "Nothing is said"),
    ],
)
def test_half_a_word_is_asked_for(floor: Floor, fields: dict[str, str], says: str) -> None:
    assert any(says in message for message in form(floor, **fields).errors.values())
