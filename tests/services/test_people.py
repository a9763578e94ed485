"""People, PINs and sign-ins, on both databases."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlmodel import select

from app.db import Database, now
from app.models.event import Event
from app.models.person import Person, PinTry, SignIn
from app.queries.people import has_owner, list_people, list_retired
from app.queries.sign_in import pin_standing, signed_in
from app.services.people import add_person, change_own_pin, reset_pin, retire, update_person
from app.services.shop import open_shop
from app.services.sign_in import note_wrong_pin, sign_in, sign_out, token_hash
from app.services.write import NotFound, Refused, Write
from app.workflow.kinds import Unit
from app.workflow.words import Role

HASH = "a hash"


def open_it(database: Database) -> Person:
    with database.write() as session:
        return open_shop(
            Write(session, by=None),
            name="Lindenau Heads",
            owner="Odile",
            pin_hash=HASH,
            zone="Europe/Vienna",
            currency="EUR",
            unit=Unit.INCH,
        )


def test_a_shop_opens_once_with_its_owner(database: Database) -> None:
    with database.read() as session:
        assert not has_owner(session)
    odile = open_it(database)
    assert odile.role is Role.OWNER
    with pytest.raises(Refused, match="has an owner already"):
        open_it(database)
    with database.read() as session:
        assert has_owner(session)
        verbs = session.exec(select(Event.verb).order_by(Event.id)).all()  # type: ignore[arg-type]
        assert verbs == ["opened the shop", "added a person"]


def test_bodies_of_the_log_carry_no_names(database: Database) -> None:
    odile = open_it(database)
    with database.write() as session:
        tx = Write(session, by=odile)
        marek = add_person(tx, "Marek", Role.MACHINIST, HASH)
        update_person(tx, marek.id, "Marek K", Role.MACHINIST)
        retire(tx, marek.id)
    with database.read() as session:
        for body in session.exec(select(Event.body)):
            assert "Marek" not in body
            assert "Odile" not in body
            assert HASH not in body


def test_who_retires_is_listed_apart(database: Database) -> None:
    odile = open_it(database)
    with database.write() as session:
        tx = Write(session, by=odile)
        retire(tx, add_person(tx, "Rufus", Role.MACHINIST, HASH).id)
    with database.read() as session:
        assert [person.name for person in list_people(session)] == ["Odile"]
        assert [person.name for person in list_retired(session)] == ["Rufus"]


def test_the_last_owner_can_neither_retire_nor_be_anything_else(database: Database) -> None:
    odile = open_it(database)
    with database.write() as session:
        tx = Write(session, by=odile)
        with pytest.raises(Refused, match="only owner"):
            retire(tx, odile.id)
        with pytest.raises(Refused, match="only owner"):
            update_person(tx, odile.id, "Odile", Role.MACHINIST)
        add_person(tx, "Otto", Role.OWNER, HASH)
        retire(tx, odile.id)


def test_a_retired_owner_is_no_other_owner(database: Database) -> None:
    odile = open_it(database)
    with database.write() as session:
        tx = Write(session, by=odile)
        retire(tx, add_person(tx, "Otto", Role.OWNER, HASH).id)
        with pytest.raises(Refused, match="only owner"):
            retire(tx, odile.id)


def come_in(database: Database, person_id: int, token: str, replaces: str = "") -> None:
    with database.write() as session:
        sign_in(
            Write(session, by=None),
            person_id,
            HASH,
            token=token,
            address="10.0.0.7",
            replaces=replaces,
        )


def is_in(database: Database, token: str) -> bool:
    with database.read() as session:
        return signed_in(session, token_hash(token), now()) is not None


def test_a_sign_in_holds_until_it_is_ended(database: Database) -> None:
    odile = open_it(database)
    come_in(database, odile.id, "one")
    with database.read() as session:
        found = signed_in(session, token_hash("one"), now())
        assert found is not None
        assert (found.person.name, found.shop.name) == ("Odile", "Lindenau Heads")
    with database.write() as session:
        sign_out(Write(session, by=None), "one")
    assert not is_in(database, "one")


def test_a_new_sign_in_on_a_browser_ends_the_old_one(database: Database) -> None:
    odile = open_it(database)
    come_in(database, odile.id, "one")
    come_in(database, odile.id, "two", replaces="one")
    assert not is_in(database, "one")
    assert is_in(database, "two")


def test_a_pin_reset_on_the_console_ends_every_sign_in(database: Database) -> None:
    odile = open_it(database)
    come_in(database, odile.id, "one")
    come_in(database, odile.id, "two")
    with database.write() as session:
        person = reset_pin(Write(session, by=None), odile.id, "another hash")
        assert person.pin_hash == "another hash"
    assert not is_in(database, "one")
    assert not is_in(database, "two")


def test_ones_own_pin_keeps_this_device_signed_in(database: Database) -> None:
    odile = open_it(database)
    come_in(database, odile.id, "one")
    come_in(database, odile.id, "two")
    with database.write() as session:
        this = session.exec(select(SignIn).where(SignIn.token_hash == token_hash("one"))).one()
        change_own_pin(
            Write(session, by=odile), HASH, "new hash", address="10.0.0.7", sign_in_id=this.id
        )
    assert is_in(database, "one")
    assert not is_in(database, "two")


def test_a_pin_of_before_opens_nothing_after_a_change(database: Database) -> None:
    odile = open_it(database)
    with database.write() as session:
        reset_pin(Write(session, by=None), odile.id, "another hash")
    with pytest.raises(Refused, match="changed a moment ago"):
        come_in(database, odile.id, "one")


def test_nobody_comes_in_who_is_not_there(database: Database) -> None:
    open_it(database)
    with pytest.raises(NotFound):
        come_in(database, 999, "one")


def guess(database: Database, person_id: int, times: int, address: str = "10.0.0.9") -> None:
    with database.write() as session:
        for _ in range(times):
            note_wrong_pin(Write(session, by=None), person_id, address)


def wait_of(database: Database, person_id: int, later: timedelta, address: str) -> float:
    with database.read() as session:
        standing = pin_standing(session, person_id, address, now() + later)
        assert standing is not None
        return standing.wait.total_seconds()


def test_guesses_hashed_at_once_do_not_slip_past_the_wait(database: Database) -> None:
    odile = open_it(database)
    guess(database, odile.id, 3)
    # Its PIN was matched before those three were noted; the wait began all the same.
    with pytest.raises(Refused, match="Wait"):
        come_in(database, odile.id, "one")
    assert not is_in(database, "one")


def test_waits_grow_to_a_quarter_of_an_hour_and_pass(database: Database) -> None:
    odile = open_it(database)
    nothing = timedelta(0)
    guess(database, odile.id, 2)
    assert wait_of(database, odile.id, nothing, "10.0.0.7") == 0
    guess(database, odile.id, 1)
    assert 4 < wait_of(database, odile.id, nothing, "10.0.0.7") <= 5
    guess(database, odile.id, 40)
    assert 890 < wait_of(database, odile.id, nothing, "10.0.0.7") <= 900
    assert wait_of(database, odile.id, timedelta(minutes=16), "10.0.0.7") == 0
    assert wait_of(database, odile.id, timedelta(hours=25), "10.0.0.7") == 0


def test_an_address_that_guesses_at_everyone_waits(database: Database) -> None:
    odile = open_it(database)
    with database.write() as session:
        tx = Write(session, by=odile)
        ids = [add_person(tx, f"Person {n}", Role.MACHINIST, HASH).id for n in range(10)]
    for person_id in ids:
        guess(database, person_id, 1)
    assert wait_of(database, odile.id, timedelta(0), "10.0.0.9") > 0
    assert wait_of(database, odile.id, timedelta(0), "10.0.0.7") == 0


def test_the_right_pin_forgets_the_wrong_ones(database: Database) -> None:
    odile = open_it(database)
    guess(database, odile.id, 2)
    come_in(database, odile.id, "one")
    guess(database, odile.id, 2)
    assert wait_of(database, odile.id, timedelta(0), "10.0.0.7") == 0
    with database.read() as session:
        assert len(session.exec(select(PinTry)).all()) == 5


def test_names_differ_by_more_than_capitals(database: Database) -> None:
    odile = open_it(database)
    with database.write() as session, pytest.raises(Refused) as refusal:
        add_person(Write(session, by=odile), "ODILE", Role.MACHINIST, HASH)
    assert refusal.value.field == "name"
