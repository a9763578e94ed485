"""Lists brought in: looked at line by line, kept once, and refused in words."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.calc.units import Length
from app.db import Database
from app.models.crib import Cutter
from app.models.customer import Customer
from app.models.ring import Ring, RingSet
from app.queries.customers import find_customers
from app.workflow.kinds import CutterKind
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
CUSTOMERS = (
    "Name;Phone;E-mail;Trade;Standing limit;Jobs\n"
    "Orchard Engines;'+43 555 0177;;yes;400,00;3\n"
    "Ebba Lind;555-0188;;no;;0\n"
)
BAD = "Tall Pines;five;;no;;0\n=1+1;555-0199;;no;;0\nEbba Lind;5550188;;;;\n"
LOOK = "Look at it line by line"


def names(database: Database) -> list[str]:
    with database.read() as session:
        return list(session.exec(select(Customer.name).order_by(col(Customer.id))))


def test_customers_are_shown_line_by_line_kept_once_and_found(
    signed_in_as: SignedInAs, database: Database
) -> None:
    walk = Walk(signed_in_as("service_writer")).get("/lists/customers/import")
    walk.send({"list": CUSTOMERS + BAD}, LOOK)
    walk.says("2 customers would be added, 3 lines are refused. Nothing is kept yet")
    walk.says("Phone number: is not a phone number", "has a formula, =1+1", "the same as line 3")
    walk.says("not read: jobs")
    assert names(database) == []
    walk.send({}, "Add 2 customers", status=422).says("tick that they are left out")
    walk.send({"without_bad": "yes"}, "Add 2 customers").says("2 customers from the list are here")
    assert names(database) == ["Orchard Engines", "Ebba Lind"]
    with database.read() as session:
        one = session.exec(select(Customer)).first()
        assert one is not None
        assert (one.phone, one.is_trade, one.standing_limit) == ("+43 555 0177", True, 40000)
        assert [found.name for found in find_customers(session, "0177")] == ["Orchard Engines"]
    again = Walk(signed_in_as("service_writer")).get("/lists/customers/import")
    again.send({"list": CUSTOMERS}, LOOK).says("0 customers would be added, 2 are here already")
    assert "Add 0" not in again.text


def test_what_the_shop_wrote_out_it_knows_again(
    signed_in_as: SignedInAs, database: Database
) -> None:
    owner = signed_in_as("owner")
    walk = Walk(owner).get("/lists/customers/import")
    walk.send({"list": CUSTOMERS}, LOOK).send({}, "Add 2 customers")
    written = owner.get("/lists/customers/csv").content
    shown = owner.post(
        "/lists/customers/import", files={"file": ("customers.csv", written, "text/csv")}
    )
    assert "0 customers would be added, 2 are here already" in shown.text


def test_boxes_of_rings_come_on_the_shelf(signed_in_as: SignedInAs, database: Database) -> None:
    rings = (
        "number\tsupplier\tlot\toutside\theight\trings\tmaterial\tunit\n"
        "Q 10\tQuarry\tL7\t41,5\t6,4\t4\ttool steel, M2\tmm\n"
        "Q 11\tQuarry\tL7\t1.635\t.250\t2\t\tin\n"
        "Q 12\tQuarry\tL7\t1.635\t.250\tmany\tcheese\tin\n"
    )
    walk = Walk(signed_in_as("machinist")).get("/lists/rings/import")
    walk.send({"list": rings}, LOOK).says("2 boxes would be added, 1 line is refused")
    walk.says("Material: is not one of the choices", "Rings in the box: must be a whole number")
    walk.send({"without_bad": "yes"}, "Add 2 boxes")
    with database.read() as session:
        boxes = session.exec(select(RingSet).order_by(col(RingSet.id))).all()
        pieces = session.exec(select(Ring)).all()
    assert [(box.part, box.material, box.job_id) for box in boxes] == [
        ("Q 10", "tool_steel", None),
        ("Q 11", "", None),
    ]
    assert boxes[0].label_od == Length.of("41.5", "mm")
    assert len(pieces) == 6
    walk.get("/lists/rings/import").send({"list": rings}, LOOK).says("0 boxes would be added")


def test_cutters_come_into_the_crib(signed_in_as: SignedInAs, database: Database) -> None:
    cutters = "name,kind,size,unit\nSlim,,,\nPlug 41,,41.5,mm\nslim,fixed size,1.5,in\n"
    walk = Walk(signed_in_as("machinist")).get("/lists/cutters/import")
    walk.send({"list": cutters}, LOOK).says("2 cutters would be added", "the same as line 2")
    walk.send({"without_bad": "yes"}, "Add 2 cutters")
    with database.read() as session:
        found = session.exec(select(Cutter).order_by(col(Cutter.id))).all()
    assert [(one.kind, one.fixed_size) for one in found] == [
        (CutterKind.ADJUSTABLE, None),
        (CutterKind.FIXED, Length.of("41.5", "mm")),
    ]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"PK\x03\x04\x00\x00sheet", "is no text"),
        (b"name|phone\nA|1\n", "must begin with a line that names its columns, at least name"),
        (b"phone,note\n555,x\n", "at least name; it begins with “phone, note”"),
        (b"name\n", "has a heading and no lines"),
        (b"name\n" + b"A\n" * 2001, "has 2001 lines; 2000 go in at once"),
        (b"name,phone\n" + b"Somebody of Somewhere,555-0100\n" * 100_000, "has 100001 lines"),
        ("name\nGrün\n".encode("utf-16"), "1 customer would be added"),
    ],
)
def test_a_file_that_is_no_list_is_answered_in_words(
    signed_in_as: SignedInAs, database: Database, content: bytes, words: str
) -> None:
    answer = signed_in_as("service_writer").post(
        "/lists/customers/import", files={"file": ("customers.csv", content, "text/csv")}
    )
    assert answer.status_code == (200 if "would be" in words else 422)
    assert words in answer.text
    assert names(database) == []
