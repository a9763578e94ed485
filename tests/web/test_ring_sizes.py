"""The size list's pages: one line, a series, a pasted list or a file."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.db import Database
from app.models.ring_size import RingSize
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
GOOD = "supplier,part,od,height,inside,material,unit\nQuarry,Q 10,1.635,.250,1.376,tool steel,in\n"
BAD = "Quarry,Q 20,wide,.250,1.376,tool steel,in\n"


def parts(database: Database) -> list[str]:
    with database.read() as session:
        return list(session.exec(select(RingSize.part).order_by(col(RingSize.od))))


def test_a_size_is_put_on_the_list_found_changed_and_taken_off(
    signed_in_as: SignedInAs, database: Database
) -> None:
    walk = Walk(signed_in_as("machinist")).get("/shelf/sizes")
    walk.says("The size list is empty", "never measured")
    walk.send({"od": "1.635", "height": ".250", "supplier": "Quarry", "part": "Q 10"}, "Put on")
    walk.says("1.6350", "41.529 mm", "Q 10")
    walk.get("/shelf/sizes?from=1.64&to=1.70").says("Nothing matches")
    walk.get("/shelf/sizes?from=1.63&to=1.64").says("1 size of 1")
    walk.get("/shelf/sizes?from=wide").says("has no digits", "1.6350")
    walk.follow("Change 1.6350").send({"od": "1.640"}, "Keep").says("1.6400")
    walk.get("/shelf/sizes/1").send({}, "Take it off the list").says("The size list is empty")
    walk.get("/shelf/sizes?also=retired").says("1.6400", "off the list")
    walk.get("/shelf/sizes/1").send({}, "Bring it back").says("1.6400")


def test_a_size_that_cannot_be_keeps_what_was_typed(signed_in_as: SignedInAs) -> None:
    walk = Walk(signed_in_as("machinist")).get("/shelf/sizes")
    walk.send({"od": "41.5", "part": "Q 10"}, "Put on", status=422)
    assert 'value="Q 10"' in walk.text
    assert 'href="#f-od"' in walk.text


def test_a_series_of_oversizes_and_of_blanks_is_one_step_each(
    signed_in_as: SignedInAs, database: Database
) -> None:
    walk = Walk(signed_in_as("machinist")).get("/shelf/sizes/series")
    walk.send({"od": "1.625", "step_mm_2": "yes", "supplier": "Quarry"}, "Put the series")
    walk.says("6 sizes", "+.005 in", "+.030 in", "+0.50 mm", "nominal")
    walk.get("/shelf/sizes/series")
    walk.send({"least": "1 3/4", "most": "1 13/16", "step": "64"}, "Put the series")
    walk.says("11 sizes", "blank", "1.7656")
    walk.get("/shelf/sizes/series")
    none = {f"step_in_{n}": None for n in range(4)}
    walk.send({"od": "1.5", **none}, "Put the series", status=422).says("Tick the oversizes")


def test_a_pasted_list_is_shown_line_by_line_and_nothing_is_kept(
    signed_in_as: SignedInAs, database: Database
) -> None:
    walk = Walk(signed_in_as("machinist")).get("/shelf/sizes/import")
    walk.send({"list": GOOD + BAD}, "Look at it")
    walk.says("1 of 2 lines can be kept. Nothing is kept yet", "Refused. Outside: 'wide'")
    assert "Quarry,Q 20,wide" in walk.text
    assert parts(database) == []
    walk.send({}, "Keep the good line", status=422).says("tick that they are left out")
    assert "Quarry,Q 20,wide" in walk.text
    walk.send({"without_bad": "yes"}, "Keep the good line").says("Q 10")
    assert parts(database) == ["Q 10"]


def test_a_list_that_was_mended_is_looked_at_again(
    signed_in_as: SignedInAs, database: Database
) -> None:
    walk = Walk(signed_in_as("machinist")).get("/shelf/sizes/import")
    walk.send({"list": GOOD}, "Look at it")
    walk.send({"list": GOOD.replace("1.635", "1.636")}, "Keep the good line", status=422)
    walk.says("look at it once more")
    assert parts(database) == []


def test_a_file_takes_the_place_of_what_is_pasted_and_is_looked_at_first(
    signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("machinist")
    content = GOOD.replace("Quarry", "Gr\N{LATIN SMALL LETTER U WITH DIAERESIS}n")
    shown = browser.post(
        "/shelf/sizes/import",
        data={"list": "", "do": "keep", "unit": "in"},
        files={"file": ("sizes.csv", content.encode("cp1252"), "text/csv")},
    )
    assert shown.status_code == 200
    assert "Grün" in shown.text
    assert "1 of 1 line can be kept" in shown.text
    assert parts(database) == []


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"PK\x03\x04\x00\x00sheet", "is no text"),
        (b"1.5\n" * 70_000, "has 70000 lines and is larger than 200 kB"),
        (b"", "Paste the list, or choose its file"),
    ],
)
def test_a_file_that_is_no_list_is_refused_in_words(
    signed_in_as: SignedInAs, database: Database, content: bytes, words: str
) -> None:
    browser = signed_in_as("machinist")
    refused = browser.post(
        "/shelf/sizes/import",
        data={"do": "look", "unit": "in", "supplier": "kept as typed"},
        files={"file": ("sizes.xlsx", content, "text/csv")},
    )
    assert refused.status_code == 422
    assert words in refused.text
    assert "kept as typed" in refused.text
    assert parts(database) == []


def test_a_service_writer_reads_the_list(signed_in_as: SignedInAs) -> None:
    walk = Walk(signed_in_as("service_writer")).get("/shelf").follow("Size list")
    assert "Put on the list" not in walk.text
    assert walk.browser.post("/shelf/sizes", data={"od": "1.6"}).status_code == 403


def test_a_size_that_is_not_there_is_a_404_page(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("machinist")
    assert browser.get("/shelf/sizes/9").status_code == 404
    assert browser.post("/shelf/sizes/9/retire").status_code in (404, 409)
