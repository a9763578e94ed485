"""Leaving the shop: the last looks, the customer's record, and what it taught of times."""

from __future__ import annotations

import base64
import json
from pathlib import Path
from typing import Any

import pytest
from sqlmodel import col, select

from app.db import Database
from app.forms.heads import AddHeadForm
from app.forms.photos import PhotoForm
from app.forms.price_lines import PriceLineForm
from app.models.inspection import Inspection
from app.models.job import Job
from app.models.port_pass import StageTime
from app.models.sheet import Sheet
from app.pictures import file_of, keep_picture
from app.queries.stage_times import rates_now
from app.services.heads import add_head
from app.services.photos import add_photos
from app.services.price_lines import add_price_line, void_price_line
from app.services.sheets import hand_over_and_issue
from app.services.shop_rules import set_rule
from app.services.write import Refused
from app.web.sheet_page import drawer
from app.workflow.kinds import SheetKind
from app.workflow.words import Ended, InspectionKind, InspectionWay, Outcome, WorkStage
from app.worksheets.shop_rules import current_rules
from seed_demo.hands import filled, leaving
from seed_demo.pictures import head_from_above
from tests.services.finished import finish_head
from tests.services.floor import Done, Floor, nothing


@pytest.fixture
def stage() -> Done:
    """Everything done and signed; a test that starts earlier says so."""
    return finish_head


def hand_over(floor: Floor, photos: Path | None = None, **fields: str) -> list[Sheet]:
    draw = drawer("http://shop.example:8137", photos)
    with floor.hands.by(floor.cast.service_writer).writing() as tx:
        hand_over_and_issue(tx, floor.job, leaving("Fern", **fields), draw)
    with floor.database.read() as session:
        return list(session.exec(select(Sheet).order_by(col(Sheet.id))))


def customers(sheets: list[Sheet]) -> Sheet:
    return next(sheet for sheet in sheets if sheet.kind is SheetKind.CUSTOMER)


def cleans(database: Database) -> list[Inspection]:
    with database.read() as session:
        return list(
            session.exec(
                select(Inspection).where(Inspection.kind == InspectionKind.FINAL_CLEAN)
            ).all()
        )


def take_picture(floor: Floor, folder: Path, of: str, *, is_clean: bool = False) -> str:
    picture = keep_picture(head_from_above(is_clean=is_clean), folder)
    form = PhotoForm({"photo_of": of, "about": f"head-{floor.head.id}", "caption": "3E burnt"})
    with floor.hands.writing() as tx:
        add_photos(tx, floor.job.number, filled(form), [picture])
    return picture.small_sha256


def test_the_final_clean_is_asked_and_kept_with_the_head(floor: Floor, database: Database) -> None:
    with pytest.raises(Refused, match="Say whether the final clean") as refused:
        hand_over(floor, clean="")
    assert refused.value.field == "clean"
    sheets = hand_over(floor, clean="not_done", clean_because="the washer is being repaired")
    [clean] = cleans(database)
    assert (clean.outcome, clean.because) == (Outcome.NOT_DONE, "the washer is being repaired")
    assert "not done, because the washer is being repaired" in customers(sheets).html


def test_a_clean_that_is_on_record_is_not_asked_again(floor: Floor, database: Database) -> None:
    floor.hands.inspect(floor.head, InspectionKind.FINAL_CLEAN, Outcome.OK, method="hot wash")
    hand_over(floor, clean="")
    assert len(cleans(database)) == 1


def test_parts_that_differ_are_asked_and_the_answer_goes_home(
    floor: Floor, database: Database
) -> None:
    floor.hands.count(floor.job, pieces_0="8")
    floor.hands.count(floor.job, way="out", pieces_0="7")
    with pytest.raises(Refused, match="8 came in, 7 go out, 1 fewer") as refused:
        hand_over(floor)
    assert refused.value.field == "parts_because"
    with database.read() as session:
        assert session.get_one(Job, floor.job.id).ended_as is None
    html = customers(hand_over(floor, parts_because="bent valve thrown away, as agreed")).html
    assert "valves: 8 came in, 7 go out, 1 fewer" in html
    assert "bent valve thrown away, as agreed" in html


def test_a_scrapped_head_does_not_hold_up_the_other(floor: Floor) -> None:
    with floor.hands.by(floor.cast.service_writer).writing() as tx:
        other = add_head(tx, floor.job.number, filled(AddHeadForm({"name": "right"})))
    floor.hands.describe(
        other,
        casting="FH 222",
        material="grey_iron",
        layout="EI",
        valves="2",
        numbered_from="front",
    )
    floor.hands.decide(other, {"1E": "ring", "*": "leave"}, {"*": "casting"})
    with pytest.raises(Refused, match="seat ring in"):
        hand_over(floor)
    floor.hands.decide_head(other, InspectionWay.SCRAP, "cracked into the plug hole")
    sheets = hand_over(floor)
    [given_up] = [s for s in sheets if s.head_id == other.id and s.kind is SheetKind.CUSTOMER]
    assert "Given up after inspection:</b> cracked into the plug hole" in given_up.html
    assert "Given up" not in customers(sheets).html


@pytest.mark.parametrize("stage", [nothing])
def test_nothing_is_kept_when_the_hand_over_is_refused(floor: Floor, database: Database) -> None:
    finish_head(floor, is_signed=False)
    with pytest.raises(Refused, match="signature"):
        hand_over(floor)
    assert cleans(database) == []
    with database.read() as session:
        assert session.exec(select(Sheet)).all() == []


def test_the_customers_record_says_in_plain_words_what_the_record_says_in_figures(
    floor: Floor,
) -> None:
    with floor.hands.by(floor.cast.owner).writing() as tx:
        set_rule(tx, "warranty_text", "Six months, parts of ours only.", "the shop's terms")
    sheets = hand_over(floor)
    mine = customers(sheets)
    figures: Any = json.loads(mine.data)["figures"]
    whole: Any = json.loads(sheets[0].data)["figures"]
    fits = {one["name"]: one["fit"] for one in whole["positions"] if one["fit"]}
    mine_fits = {one["name"]: one["fit"] for one in figures["positions"] if one["fit"]}
    assert mine_fits == fits
    assert len(fits) == 2
    for fit in fits.values():
        assert fit["interference"] in mine.html
    for words in (
        "collected by Fern",
        "Cylinder 2 exhaust",
        "seat ring: bored for it and pressed in.",
        "Seat cut anew.",
        "Left as it came.",
        "Pressure test after boring",
        "Six months, parts of ours only.",
        "Tighten in the order",
    ):
        assert words in mine.html, words
    assert "safe" not in mine.html.lower()


def test_texts_of_the_shop_stay_on_the_sheet_as_they_were(floor: Floor) -> None:
    mine = customers(hand_over(floor))
    with floor.hands.by(floor.cast.owner).writing() as tx:
        set_rule(tx, "care_text", "Ask us first.", "the shop's own words")
    with floor.database.read() as session:
        assert "Tighten in the order" in session.get_one(Sheet, mine.id).html
        assert current_rules(session).text("care_text") == "Ask us first."


def test_the_picture_is_inside_the_frozen_sheet_small(floor: Floor, tmp_path: Path) -> None:
    before = take_picture(floor, tmp_path, "intake")
    take_picture(floor, tmp_path, "intake", is_clean=True)
    after = take_picture(floor, tmp_path, "hand_over", is_clean=True)
    mine = customers(hand_over(floor, tmp_path))
    inside = [part.partition('"')[0] for part in mine.html.split("data:image/jpeg;base64,")[1:]]
    assert [base64.b64decode(text) for text in inside] == [
        file_of(tmp_path, digest).read_bytes() for digest in (before, after)
    ]
    assert len(mine.html) < 200_000
    figures = json.loads(mine.data)["figures"]
    assert figures["before"]["small_sha256"] == before
    file_of(tmp_path, before).unlink()
    with floor.database.read() as session:
        assert session.get_one(Sheet, mine.id).html == mine.html


def test_a_lost_picture_is_said_and_stops_nothing(floor: Floor, tmp_path: Path) -> None:
    file_of(tmp_path, take_picture(floor, tmp_path, "intake")).unlink()
    mine = customers(hand_over(floor, tmp_path))
    assert "file was not there when this was printed" in mine.html
    with floor.database.read() as session:
        assert session.get_one(Job, floor.job.id).ended_as is Ended.HANDED_OVER


def test_a_total_past_the_consent_is_asked_again_before_hand_over(floor: Floor) -> None:
    extra = PriceLineForm({"text": "four valves", "amount": "9000"})
    with floor.hands.writing() as tx:
        add_price_line(tx, floor.job.number, extra)
    with pytest.raises(Refused, match="agreed up to"):
        hand_over(floor)
    floor.hands.agree(floor.job, "Fern", limit="9999")
    assert hand_over(floor)


@pytest.mark.parametrize("stage", [nothing])
def test_a_price_that_grew_never_strands_a_half_cut_head(floor: Floor) -> None:
    floor.read_rings()
    setting = floor.set_up()
    floor.hands.clamp(floor.head, floor.machine.id)
    over = PriceLineForm({"text": "more than was agreed", "amount": "9000"})
    with floor.hands.writing() as tx:
        line = add_price_line(tx, floor.job.number, over)
    with pytest.raises(Refused, match="consent that covers the work"):
        floor.bore("2E", setting, "1.6205")
    with floor.hands.writing() as tx:
        void_price_line(tx, floor.job.number, line.id)
    floor.bore("2E", setting, "1.6205")
    with floor.hands.writing() as tx:
        add_price_line(tx, floor.job.number, over)
    floor.hands.correct(setting, "1.6205", 0)
    floor.hands.set_to(setting)
    for label in ("2E", "3E"):
        floor.bore(label, setting, "1.6222")


def test_signing_keeps_what_each_stage_took(floor: Floor, database: Database) -> None:
    with database.read() as session:
        kept = {row.stage: row for row in session.exec(select(StageTime))}
        rates = rates_now(session, current_rules(session))
    assert {stage: row.positions for stage, row in kept.items()} == {
        WorkStage.MEASURE: 7,
        WorkStage.CUT: 2,
        WorkStage.FINISH: 7,
    }
    assert all(0 < row.seconds < 3600 for row in kept.values())
    # Seven positions are too few to plan with: the default stands, marked, with their count.
    assert rates[WorkStage.MEASURE].is_default
    assert rates[WorkStage.MEASURE].positions == 7
    with floor.hands.by(floor.cast.owner).writing() as tx:
        set_rule(tx, "planned_from", "2", "we are few")
    with database.read() as session:
        rates = rates_now(session, current_rules(session))
    assert not rates[WorkStage.CUT].is_default
    assert rates[WorkStage.CUT].minutes == kept[WorkStage.CUT].seconds / 60 / 2
