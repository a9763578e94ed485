"""Inspections of a head: several in one form, each a result or a reason; scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.db import Database
from app.models.inspection import Inspection
from app.workflow.words import InspectionKind, Outcome
from tests.web.bench import Bench
from tests.web.measuring import FreshHead
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def marek(head: FreshHead, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek").get(head.at("inspections"))


@pytest.fixture
def odile(head: FreshHead, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Odile"), "Odile").get(head.at("inspections"))


def recorded(database: Database, head: FreshHead) -> list[tuple[InspectionKind, Outcome, str]]:
    with database.read() as session:
        rows = session.exec(
            select(Inspection)
            .where(Inspection.head_id == head.head.id)
            .order_by(col(Inspection.id))
        ).all()
    return [(row.kind, row.outcome, row.found or row.because) for row in rows]


def test_several_are_recorded_in_one_go(head: FreshHead, marek: Walk, database: Database) -> None:
    marek.send(
        outcome_crack="ok",
        method_crack="dry magnetic particle",
        outcome_pressure_before="not_done",
        because_pressure_before="no tester here",
        outcome_flatness="not_ok",
        found_flatness=".006 low in the middle",
        press="Keep",
    )
    assert recorded(database, head) == [
        (InspectionKind.CRACK, Outcome.OK, ""),
        (InspectionKind.PRESSURE_BEFORE, Outcome.NOT_DONE, "no tester here"),
        (InspectionKind.FLATNESS, Outcome.NOT_OK, ".006 low in the middle"),
    ]


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"outcome_crack": "not_done"}, "Crack test: Not done, because …? Say why."),
        ({"outcome_crack": "not_ok"}, "Crack test: Not OK: say what was found, and where."),
        ({"found_crack": "at the bridge"}, "Crack test: Say how it ended"),
        ({"outcome_crack": "ok", "found_crack": "x" * 401}, "is longer than 400"),
    ],
)
def test_half_of_one_comes_back_with_the_others_kept(
    head: FreshHead, marek: Walk, database: Database, said: dict[str, str], told: str
) -> None:
    others = {"outcome_flatness": "ok", "method_flatness": "straight edge"}
    marek.send({**said, **others}, press="Keep", status=422).says(told)
    served = marek.form(head.at("inspections"))
    assert served.named("method_flatness")[0].value == "straight edge"
    assert [each.value for each in served.named("outcome_flatness") if each.is_on] == ["ok"]
    assert recorded(database, head) == []


def test_what_stands_is_shown_and_not_written_again(
    head: FreshHead, marek: Walk, database: Database
) -> None:
    marek.send(outcome_crack="ok", method_crack="dye penetrant", press="Keep")
    marek.send(outcome_flatness="ok", press="Keep")
    assert [kind for kind, _, _ in recorded(database, head)] == [
        InspectionKind.CRACK,
        InspectionKind.FLATNESS,
    ]


def test_a_later_outcome_counts_and_the_earlier_is_still_shown(
    head: FreshHead, marek: Walk
) -> None:
    marek.send(outcome_crack="not_ok", found_crack="2E bridge", press="Keep")
    marek.send(outcome_crack="ok", found_crack="welded, tested again", press="Keep")
    marek.says("Earlier", "not OK : 2E bridge")
    assert (
        marek.form(head.at("inspections")).named("found_crack")[0].value == "welded, tested again"
    )


def test_two_tablets_at_one_inspection_are_told_and_the_second_may_decide(
    head: FreshHead, marek: Walk, odile: Walk, database: Database
) -> None:
    marek.send(outcome_crack="ok", press="Keep")
    odile.send(outcome_crack="not_ok", found_crack="2E bridge", press="Keep", status=422)
    odile.says("Marek recorded “OK” after this page was opened")
    assert len(recorded(database, head)) == 1
    odile.send(press="Keep")
    assert recorded(database, head)[-1] == (InspectionKind.CRACK, Outcome.NOT_OK, "2E bridge")


def test_two_tablets_at_different_inspections_keep_both(
    head: FreshHead, marek: Walk, odile: Walk, database: Database
) -> None:
    marek.send(outcome_crack="ok", press="Keep")
    odile.send(outcome_flatness="ok", press="Keep")
    assert len(recorded(database, head)) == 2


def test_a_pressure_test_before_the_last_cut_has_to_be_done_again(
    bench: Bench, signed_in_as: SignedInAs
) -> None:
    setting = bench.set_and_clamped()
    bench.hands.inspect(bench.head, InspectionKind.PRESSURE_AFTER, Outcome.OK, found="no bubbles")
    bench.bore("2E", setting, "1.6205")
    walk = Walk(signed_in_as("Marek")).get(f"/heads/{bench.head.id}/inspections")
    walk.says("A bore was cut after the last pressure test", "Earlier: OK")
    walk.send(outcome_pressure_after="ok", found_pressure_after="no bubbles", press="Keep")
    assert "A bore was cut after" not in walk.words


def test_hardness_is_asked_only_of_a_head_that_may_have_gone_soft(
    head: FreshHead, marek: Walk
) -> None:
    marek.says("Not asked of this head: hardness, cam bore line, vacuum test")
    hands = head.bench.hands
    hands.describe(
        head.head,
        casting="LM 9",
        material="aluminium",
        layout="EIIEEIIE",
        valves="2",
        heat_history="overheated",
    )
    marek.get(head.at("inspections")).says("Not asked of this head: cam bore line, vacuum test")


def test_the_counter_reads_them_and_records_none(
    head: FreshHead, marek: Walk, signed_in_as: SignedInAs
) -> None:
    marek.send(outcome_crack="ok", found_crack="no cracks", press="Keep")
    wilma = Walk(signed_in_as("Wilma")).get(head.at("inspections"))
    wilma.says("OK : no cracks")
    assert wilma.names("outcome") == []
    assert wilma.browser.post(head.at("inspections"), data={"client_key": "k"}).status_code == 403
