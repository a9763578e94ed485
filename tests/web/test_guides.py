"""Guides: decided in one touch, measured one way or the other, replaced; scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.db import Database
from app.models.inspection import GuideWork
from app.models.reading import ReadingSet
from app.models.result import NoLongerStands
from app.workflow.kinds import ReadingKind
from app.workflow.words import GuideDecision
from tests.web.bench import readings
from tests.web.measuring import FreshHead
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
WORKED_ON = ("1E", "1I", "2I", "2E", "3E", "3I", "4I")
KEEP = "Keep the readings"


@pytest.fixture
def marek(head: FreshHead, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek").get(head.at("guides"))


def bores(head: FreshHead, walk: Walk, size: str = ".3436") -> dict[str, str]:
    return dict.fromkeys(head.names(walk, "guide_bore", *WORKED_ON, place="top"), size)


def decided(database: Database, head: FreshHead) -> dict[str, list[GuideDecision]]:
    """Every decision on record by label."""
    with database.read() as session:
        rows = session.exec(
            select(GuideWork)
            .where(col(GuideWork.port_id).in_([port.id for port in head.ports.values()]))
            .order_by(col(GuideWork.id))
        ).all()
    labels = {port.id: label for label, port in head.ports.items()}
    found: dict[str, list[GuideDecision]] = {}
    for row in rows:
        found.setdefault(labels[row.port_id], []).append(row.decision)
    return found


def test_a_position_that_is_left_is_not_asked(head: FreshHead, marek: Walk) -> None:
    assert len(marek.names("guide_bore")) == len(WORKED_ON)


def test_all_are_left_in_one_touch_with_what_was_typed(
    head: FreshHead, marek: Walk, database: Database
) -> None:
    marek.send(bores(head, marek), press="The rest: left as they are")
    assert decided(database, head) == {label: [GuideDecision.LEFT] for label in WORKED_ON}
    marek.says("7 readings kept", "Nothing is open here")


def test_all_get_new_guides_in_one_touch_and_say_why(head: FreshHead, marek: Walk) -> None:
    marek.send({"what": "all worn"}, press="The rest: new guides")
    assert marek.words.count("all worn") >= len(WORKED_ON)
    marek.says("Still open: 1E, 1I, 2I, 2E, 3E, 3I and 4I: guide (its bore or the pilot's fit)")


def test_one_is_serviced_and_the_others_left(
    head: FreshHead, marek: Walk, database: Database
) -> None:
    marek.send(press="The rest: left as they are")
    marek.send({f"guide_{head.ports['3E'].id}": "sleeved"}, press=KEEP)
    found = decided(database, head)
    assert found["3E"] == [GuideDecision.LEFT, GuideDecision.SERVICED]
    assert found["2E"] == [GuideDecision.LEFT]


def test_a_bore_read_before_the_service_was_said_is_asked_about(
    head: FreshHead, marek: Walk, database: Database
) -> None:
    marek.send(bores(head, marek), press=KEEP)
    marek.send(press="The rest: new guides", status=422)
    marek.says("Is it so?", "1E .3436", "after the service?")
    assert decided(database, head) == {}
    marek.send(press="They are of the guides as they are now").says("Nothing is open here")
    assert decided(database, head)["1E"] == [GuideDecision.SERVICED]


def test_bores_of_before_the_service_are_read_again(head: FreshHead, marek: Walk) -> None:
    marek.send(bores(head, marek), press=KEEP)
    marek.send(press="The rest: new guides", status=422)
    marek.send(press="They are of the old guides: read again")
    marek.says("nothing read yet", "Still open")


def test_a_guide_replaced_after_measuring_is_open_again_and_what_rested_on_it_is_marked(
    head: FreshHead, marek: Walk, database: Database
) -> None:
    marek.send(bores(head, marek), press="The rest: left as they are")
    pilot = marek.form(head.at("guides/pilot")).named("pilot")[0].options[-1]
    ports = [str(head.ports[label].id) for label in ("2E", "3E")]
    marek.send(pilot=pilot, port=ports, press="It fits there")
    marek.send(
        {"port": [str(head.ports["3E"].id)], "how": "replaced"}, press="This was done to them"
    )
    marek.says("Recorded. Measure the new guide", "6 readings kept", "Still open: 3E: guide")
    with database.read() as session:
        stale = session.exec(select(NoLongerStands)).all()
    assert [each.because for each in stale] == ["its guide was replaced"]
    assert "Measure the new guide" in stale[0].redo


def test_a_replaced_guide_has_to_be_ticked_and_said(head: FreshHead, marek: Walk) -> None:
    marek.send(press="The rest: left as they are")
    marek.send({"how": ""}, press="This was done to them", status=422)
    marek.says("Tick the guides that this was done to", "Say what was done to them")


def test_rocking_is_a_figure_of_its_own(head: FreshHead, marek: Walk, database: Database) -> None:
    marek.follow("Rocking the valve").says("never held against a bore")
    assert marek.names("guide_bore") == []
    name = head.names(marek, "guide_rocking", "2E")[0]
    marek.send({name: ".0060"}, press=KEEP)
    assert marek.url == head.at("guides?method=rocking")
    with database.read() as session:
        newest = session.exec(
            select(ReadingSet)
            .where(ReadingSet.kind == ReadingKind.GUIDES)
            .order_by(col(ReadingSet.id).desc())
        ).first()
    assert newest is not None
    assert newest.method == "rocking"
    marek.get(head.at("guides?method=bore")).says(".0060 by rocking, another kind of figure")


def test_three_heights_are_asked_for_and_their_difference_is_shown(
    head: FreshHead, marek: Walk
) -> None:
    marek.send(press="top, middle and bottom")
    fields = {
        name: size
        for place, size in (("top", ".3440"), ("middle", ".3436"), ("bottom", ".3438"))
        for name in head.names(marek, "guide_bore", "3E", place=place)
    }
    marek.send(fields, press=KEEP).says("bell-mouth .0004 at the top")


def test_the_fit_of_a_pilot_is_shown_beside_each_guide(head: FreshHead, marek: Walk) -> None:
    marek.send(bores(head, marek), press="The rest: left as they are")
    small = head.names(marek, "guide_bore", "1E", place="top")[0]
    marek.send({small: ".3430"}, press=KEEP)
    pilot = marek.form(head.at("guides")).named("pilot")[0].options[-1]
    marek.send(pilot=pilot, press="Show it")
    marek.says("pilot clear", ".0004", "pilot 343 does not enter")
    length = head.names(marek, "guide_length", "2E")[0]
    reach = head.names(marek, "overhang", "2E")[0]
    marek.send({length: "2.0", reach: "1.0"}, press=KEEP).says("run-out at the cut up to .0008")


def test_a_pilot_larger_than_a_measured_guide_is_refused_with_the_choice_kept(
    head: FreshHead, marek: Walk
) -> None:
    marek.send(bores(head, marek, ".3430"), press=KEEP)
    pilot = marek.form(head.at("guides/pilot")).named("pilot")[0].options[-1]
    port = str(head.ports["2E"].id)
    marek.send(pilot=pilot, port=[port], press="It fits there", status=422)
    marek.says("2E: by its bore the guide is smaller than pilot 343")
    again = marek.form(head.at("guides/pilot"))
    assert again.named("pilot")[0].value == pilot
    assert [each.value for each in again.named("port") if each.is_on] == [port]


def test_a_wrong_bore_keeps_the_decision_as_it_was_touched(
    head: FreshHead, marek: Walk, database: Database
) -> None:
    name = head.names(marek, "guide_bore", "2E", place="top")[0]
    guide = f"guide_{head.ports['2E'].id}"
    with database.read() as session:
        before = readings(session)
    marek.send({name: "3.4", guide: "sleeved"}, press=KEEP, status=422).says("2E, bore, top: 3.4")
    chosen = marek.form(head.at("guides")).named(guide)
    assert [each.value for each in chosen] == ["sleeved"]
    with database.read() as session:
        assert readings(session) == before
    assert decided(database, head) == {}
