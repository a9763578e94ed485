"""Stem heights along a head, and what every grid of readings does; scripts off."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.calc.units import Length
from app.db import Database
from app.models.crib import Instrument
from app.models.reading import Reading, ReadingSet, ReadingStrike
from app.workflow.kinds import InstrumentKind, Unit
from tests.web.bench import events, hidden, readings
from tests.web.measuring import FreshHead
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
ALONG = ("1E", "1I", "2I", "2E", "3E", "3I", "4I", "4E")


@pytest.fixture
def marek(head: FreshHead, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek").get(head.at("stem-heights"))


@pytest.fixture
def odile(head: FreshHead, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Odile"), "Odile").get(head.at("stem-heights"))


def along(head: FreshHead, walk: Walk, *typed: str) -> dict[str, str]:
    labels = ALONG[: len(typed)]
    return dict(zip(head.names(walk, "stem_height", *labels), typed, strict=True))


def test_every_position_is_asked_in_its_true_order(head: FreshHead, marek: Walk) -> None:
    assert marek.names("stem_height") == head.names(marek, "stem_height", *ALONG)
    marek.says("nothing read yet", "Still open: 1E, 1I, 2I, 2E, 3E, 3I and 4I: stem height")


def test_a_run_is_kept_in_one_go_and_says_how_many_and_when(head: FreshHead, marek: Walk) -> None:
    marek.send(along(head, marek, *["1.850"] * 8), press="Keep the readings")
    assert marek.url == head.at("stem-heights")
    marek.says("8 readings kept ·", "Nothing is open here")


def test_the_next_button_keeps_what_is_typed_and_goes_on(
    head: FreshHead, marek: Walk, database: Database
) -> None:
    before = count(database)
    marek.send(along(head, marek, "1.850"), press="Next: guides")
    assert marek.url == head.at("guides")
    assert count(database) == before + 1


def test_a_height_beside_the_others_of_its_kind(head: FreshHead, marek: Walk) -> None:
    heights = ["1.850", "1.850", "1.850", "1.862", "1.850", "1.850", "1.850", "1.850"]
    marek.send(along(head, marek, *heights), press="Keep the readings").says("+.0120")


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("1.85O", "'1.85O'"),
        ("nan", "'nan'"),
        ("inf", "'inf'"),
        ("-1.85", "outside"),
        ("185", "outside"),
        ("1" * 39, "outside"),
    ],
)
def test_bad_input_comes_back_at_its_field_with_everything_kept(
    head: FreshHead, marek: Walk, database: Database, typed: str, why: str
) -> None:
    before = count(database)
    fields = along(head, marek, "1.851", typed, "1.853")
    marek.send(fields, press="Keep the readings", status=422)
    marek.says("Not kept yet", "1I, stem height", why)
    assert count(database) == before
    served = marek.form(head.at("stem-heights"))
    assert [served.named(name)[0].value for name in fields] == list(fields.values())
    assert 'aria-invalid="true"' in marek.text


def test_a_field_longer_than_any_figure_is_refused(head: FreshHead, marek: Walk) -> None:
    marek.send(along(head, marek, "1." + "8" * 4100), press="Keep the readings", status=413)


def test_a_repeated_form_records_once(head: FreshHead, marek: Walk, database: Database) -> None:
    name = head.names(marek, "stem_height", "1E")[0]
    data = {"client_key": "a1b2c3", name: "1.850"}
    for _ in range(3):
        assert marek.browser.post(head.at("stem-heights"), data=data).status_code == 303
    with database.read() as session:
        kept = session.exec(select(Reading).where(Reading.typed == "1.850")).all()
        mine = [each for each in kept if each.client_key.startswith("a1b2c3")]
    assert len(mine) == 1


def test_a_form_that_says_nothing_new_writes_nothing(
    head: FreshHead, marek: Walk, database: Database
) -> None:
    marek.send(along(head, marek, "1.850"), press="Keep the readings")
    with database.read() as session:
        before = events(session)
    marek.send(press="Keep the readings")
    with database.read() as session:
        assert events(session) == before


def test_a_figure_typed_over_a_kept_one_strikes_it_and_both_are_shown(
    head: FreshHead, marek: Walk
) -> None:
    marek.send(along(head, marek, "1.850"), press="Keep the readings")
    marek.send(along(head, marek, "1.852"), press="Keep the readings")
    marek.says("1 reading kept", "1 struck", "struck: typed again")
    assert '<s class="fig">1.850</s>' in marek.text


def test_a_reading_is_struck_with_a_reason_and_its_field_is_empty(
    head: FreshHead, marek: Walk
) -> None:
    marek.send(along(head, marek, "1.850"), press="Keep the readings")
    marek.follow("strike 1.850 of 1E").says("Strike 1.850", "1E, stem height")
    marek.send(press="Strike it", status=422).says("Say why it no longer counts")
    marek.send({"reason": "read at another position"}, press="Strike it")
    assert marek.url == head.at("stem-heights")
    marek.says("struck: read at another position", "nothing read yet")
    name = head.names(marek, "stem_height", "1E")[0]
    assert marek.form(head.at("stem-heights")).named(name)[0].value == ""


def test_two_tablets_at_different_fields_keep_both(
    head: FreshHead, marek: Walk, odile: Walk
) -> None:
    fields = along(head, marek, "1.850", "1.851")
    first, second = fields
    marek.send({first: fields[first]}, press="Keep the readings")
    odile.send({second: fields[second]}, press="Keep the readings").says("2 readings kept")


def test_two_tablets_at_one_field_are_told_and_the_second_may_decide(
    head: FreshHead, marek: Walk, odile: Walk, database: Database
) -> None:
    name = head.names(marek, "stem_height", "1E")[0]
    marek.send({name: "1.850"}, press="Keep the readings")
    before = count(database)
    odile.send({name: "1.860"}, press="Keep the readings", status=422)
    odile.says("Marek read 1.850 here after this page was opened, and 1.860 was typed now")
    assert count(database) == before
    odile.send({name: "1.860"}, press="Keep the readings").says("1 reading kept", "1 struck")


def test_an_error_elsewhere_does_not_let_a_page_write_over_what_it_never_showed(
    head: FreshHead, marek: Walk, odile: Walk
) -> None:
    first, second = head.names(marek, "stem_height", "1E", "1I")
    odile.send({first: "1.850"}, press="Keep the readings")
    marek.get(head.at("stem-heights"))
    odile.send({first: "1.855"}, press="Keep the readings")
    marek.send({first: "1.851", second: "nothing"}, press="Keep the readings", status=422)
    marek.send({second: "1.850"}, press="Keep the readings", status=422)
    marek.says("Odile read 1.855 here after this page was opened, and 1.851 was typed now")


def test_an_old_page_does_not_bring_a_struck_reading_back(
    head: FreshHead, marek: Walk, odile: Walk
) -> None:
    first, second = head.names(marek, "stem_height", "1E", "1I")
    marek.send({first: "1.850"}, press="Keep the readings")
    odile.get(head.at("stem-heights"))
    marek.follow("strike 1.850 of 1E").send({"reason": "a slip"}, press="Strike it")
    odile.send({second: "1.851"}, press="Keep the readings").says("1 reading kept")


def test_a_gauge_that_compares_reads_in_divisions_and_is_remembered(
    head: FreshHead, marek: Walk, database: Database
) -> None:
    with database.write() as session:
        session.add(
            Instrument(
                name="Bridge gauge",
                kind=InstrumentKind.HEIGHT,
                unit=Unit.INCH,
                division=Length.of(".001"),
                is_comparator=True,
            )
        )
    marek.get(head.at("stem-heights"))
    gauge = next(each for each in marek.form(head.at("stem-heights")).named("instrument"))
    fields = {**along(head, marek, "+3", "-2"), "zeroed_on": "1.850"}
    marek.send({**fields, "instrument": gauge.options[-1]}, press="Keep the readings")
    with database.read() as session:
        newest = session.exec(
            select(Reading)
            .join(ReadingSet, col(ReadingSet.id) == col(Reading.reading_set_id))
            .where(ReadingSet.zeroed_on == Length.of("1.850"))
            .order_by(col(Reading.id))
        ).all()
    assert [each.value.inches(3) for each in newest] == ["1.853", "1.848"]
    marek.says("Gauge: Bridge gauge, zeroed on 1.85")
    marek.send(press="Keep the readings").says("2 readings kept")


def test_each_reading_is_kept_as_it_is_typed_and_only_what_is_beside_it_comes_back(
    head: FreshHead, marek: Walk, database: Database
) -> None:
    page = marek.browser.get(head.at("stem-heights"))
    first, second = head.names(marek, "stem_height", "1E", "1I")
    live = {"HX-Request-Type": "partial"}
    data = {"client_key": "k1", **hidden(page), first: "1.850", second: ""}
    answer = marek.browser.post(head.at("stem-heights"), data=data, headers=live)
    assert answer.status_code == 200
    assert "1 reading kept" in answer.text
    assert 'class="read' not in answer.text
    carried = hidden(answer)
    assert list(carried) == [f"had.{first}"]
    data = {"client_key": "k2", **carried, first: "1.850", second: "1.85O"}
    wrong = marek.browser.post(head.at("stem-heights"), data=data, headers=live)
    assert wrong.status_code == 422
    assert f'data-wrong="r-stem-height-port-{head.ports["1I"].id}-1' in wrong.text


def test_one_slip_does_not_hold_up_what_is_typed_after_it(
    head: FreshHead, marek: Walk, database: Database
) -> None:
    first, second = head.names(marek, "stem_height", "1E", "1I")
    live = {"HX-Request-Type": "partial"}
    data = {"client_key": "k1", first: "1.85O", second: "1.851"}
    answer = marek.browser.post(head.at("stem-heights"), data=data, headers=live)
    assert answer.status_code == 422
    assert "1 reading kept" in answer.text
    assert list(hidden(answer)) == [f"had.{second}"]


def test_a_live_page_does_not_take_out_what_another_tablet_just_kept(
    head: FreshHead, marek: Walk, odile: Walk, database: Database
) -> None:
    first, second = head.names(marek, "stem_height", "1E", "1I")
    odile.send({second: "1.851"}, press="Keep the readings")
    live = {"HX-Request-Type": "partial"}
    data = {"client_key": "k1", first: "1.850", second: ""}
    answer = marek.browser.post(head.at("stem-heights"), data=data, headers=live)
    assert f"had.{second}" in hidden(answer)
    data = {"client_key": "k2", **hidden(answer), first: "1.852"}
    marek.browser.post(head.at("stem-heights"), data=data, headers=live)
    with database.read() as session:
        struck = session.exec(
            select(Reading.typed).join(ReadingStrike).where(ReadingStrike.reason != "")
        ).all()
    assert struck == ["1.850"]


def test_the_counter_reads_the_page_and_changes_nothing(
    head: FreshHead, signed_in_as: SignedInAs
) -> None:
    wilma = Walk(signed_in_as("Wilma")).get(head.at("stem-heights"))
    assert wilma.names("stem_height") == []
    refused = wilma.browser.post(head.at("stem-heights"), data={"client_key": "k"})
    assert refused.status_code == 403


def count(database: Database) -> int:
    with database.read() as session:
        return readings(session)


def test_without_scripts_a_corrected_field_is_red_no_more_while_another_still_is(
    head: FreshHead, marek: Walk
) -> None:
    first, second = head.names(marek, "stem_height", "1E", "1I")

    def red(name: str) -> bool:
        field = re.search(rf'<input class="read[^>]*name="{re.escape(name)}"[^>]*>', marek.text)
        assert field is not None
        return 'aria-invalid="true"' in field[0]

    marek.send({first: "18.50", second: "1.85O"}, press="Keep the readings", status=422)
    assert red(first)
    assert red(second)
    marek.send({first: "1.850"}, press="Keep the readings", status=422)
    assert not red(first)
    assert red(second)
    marek.send({second: "1.850"}, press="Keep the readings")
    assert not red(second)
    marek.says("2 readings kept")
