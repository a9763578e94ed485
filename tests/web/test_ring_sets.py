"""Ring sets over their page, scripts off: read, questioned, chosen, never worked from a label."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.db import Database
from app.models.reading import Reading, ReadingStrike
from app.models.ring import Ring, RingSet
from app.services.ring_sets import choose_ring
from app.workflow.words import LabelMeans
from tests.web.bench import Bench, hidden, readings, send
from tests.web.pages import Walk

FIRST = ("1.6262", "1.6260", "1.6261", "1.6263", ".2500", ".2502", ".2501", "1.376")
SECOND = ("1.6262", "1.6261", ".2501")


@pytest.fixture
def marek(signed_in_as: Callable[[str], TestClient], bench: Bench) -> Walk:
    """The machinist at his tablet."""
    return Walk(signed_in_as("machinist"), "Marek")


def opened(marek: Walk, bench: Bench, **box: str) -> Walk:
    """A set of two rings for 2E and 3E, with what the box says."""
    return marek.get(f"/jobs/{bench.job.number}/ring-sets/new").send(
        {"count": "2", "label_od": "1.625", **box}
    )


def read_all(marek: Walk, first: tuple[str, ...] = FIRST, second: tuple[str, ...] = SECOND) -> Walk:
    """Every field of both rings."""
    fields = dict(zip(marek.names(".ring-"), (*first, *second), strict=True))
    return marek.send(fields, press="Keep the readings")


def test_both_exhausts_are_proposed_and_a_set_opens_for_them(marek: Walk, bench: Bench) -> None:
    opened(marek, bench).says("2 rings of one part number for 2 positions, 2E and 3E")
    assert len(marek.names(".ring-")) == len(FIRST) + len(SECOND)


def test_the_bore_is_worked_from_the_readings_not_from_the_box(marek: Walk, bench: Bench) -> None:
    read_all(opened(marek, bench, label_od="1.600")).says(
        "1.62615", ".00400", "1.62215", "Rings 1 and 2 may be mixed"
    )


def test_a_mean_outside_one_rings_window_still_lets_both_be_mixed_where_they_are_cut(
    marek: Walk, bench: Bench
) -> None:
    read_all(
        opened(marek, bench), first=("1.6262",) * 4 + FIRST[4:], second=("1.6270",) * 2 + SECOND[2:]
    )
    window = {"least": ".0030", "aim": ".0049", "most": ".0050", "source": "engine maker's book"}
    marek.send(window, press="Use this window")
    # The mean less the aim, 1.62170, would grip ring 2 by .0053; both suit from 1.62200 on.
    marek.says("Rings 1 and 2 may be mixed: at 1.62200 each is gripped by .00420 to .00500")
    assert "does not belong" not in marek.words
    marek.says("ring OD at 20 °C, mean of 2 rings")


def test_the_next_button_leads_to_the_plan_once_nothing_is_open(marek: Walk, bench: Bench) -> None:
    read_all(opened(marek, bench))
    marek.send(press="Next: set the cutter")
    assert marek.url == f"/jobs/{bench.job.number}/plan"


def test_a_missing_reading_greys_the_next_button_and_is_named(marek: Walk, bench: Bench) -> None:
    opened(marek, bench)
    names = marek.names(".ring-")
    marek.send(dict(zip(names[:4], FIRST[:4], strict=True)), press="Keep the readings")
    marek.says("Open:", "ring 1: height to read", "ring 2: outside diameter to read")
    assert "Nothing is worked yet" in marek.words


def test_a_reading_apart_stops_the_figures_until_it_is_struck(
    marek: Walk, bench: Bench, database: Database
) -> None:
    read_all(opened(marek, bench), second=("1.6263", "1.6281", ".2501"))
    marek.says("Ring 2 reads 1.6281 and 1.6263", ".0018 apart", "ring 2: 1.6281 in doubt")
    assert "may be mixed" not in marek.words
    marek.send({"reason": "anvil not clean"}, press="Strike 1.6281")
    marek.says("Struck: ring 2 1.6281 (anvil not clean)", "ring 2: outside diameter to read")
    with database.read() as session:
        assert session.exec(select(ReadingStrike)).one().reason == "anvil not clean"


def test_a_reading_apart_may_be_kept_with_a_reason(marek: Walk, bench: Bench) -> None:
    read_all(opened(marek, bench), second=("1.6263", "1.6281", ".2501"))
    marek.send({"reason": "ring is bent, read twice"}, press="Keep 1.6281")
    assert "in doubt" not in marek.words


def test_rings_alike_over_their_box_ask_once_what_the_box_says(
    marek: Walk, bench: Bench, database: Database
) -> None:
    first = ("1.6291", "1.6291", "1.6291", "1.6291", *FIRST[4:])
    read_all(opened(marek, bench), first=first, second=("1.6291", "1.6291", ".2501"))
    marek.says("What does the box say?", "1.62510")
    marek.send(label_means="counterbore", press="Keep the answer")
    assert "What does the box say?" not in marek.words
    marek.says("1.62510")
    with database.read() as session:
        assert session.exec(select(RingSet)).one().label_means is LabelMeans.COUNTERBORE


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("1.6.2", "more than one decimal separator"),
        ("nan", "not a finite number"),
        ("41.3 mm mm", "cannot be read"),
        ("25", "is outside"),
        ("-1.6262", "is outside"),
        ("1" * 41, "longer than 40"),
    ],
)
def test_a_figure_that_cannot_be_is_refused_at_its_field_and_nothing_is_stored(
    marek: Walk, bench: Bench, database: Database, typed: str, why: str
) -> None:
    opened(marek, bench)
    with database.read() as session:
        before = readings(session)
    names = marek.names(".ring-")
    marek.send({names[0]: "1.6262", names[1]: typed}, press="Keep the readings", status=422)
    marek.says(why)
    assert f'value="{typed[:40]}' in marek.text
    assert 'value="1.6262"' in marek.text
    with database.read() as session:
        assert readings(session) == before


def test_the_same_form_sent_twice_keeps_its_readings_once(
    marek: Walk, bench: Bench, database: Database
) -> None:
    opened(marek, bench)
    names = marek.names(".ring-")
    with database.read() as session:
        before = readings(session)
    for _ in range(2):
        send(marek.browser, marek.url + "/readings", "samekey", **{names[0]: "1.6262"})
    with database.read() as session:
        assert readings(session) == before + 1


def test_a_figure_from_another_tablet_is_named_beside_the_one_typed_here(
    marek: Walk, bench: Bench, database: Database
) -> None:
    opened(marek, bench)
    name = marek.names(".ring-")[0]
    served = hidden(marek.browser.get(marek.url))
    send(marek.browser, marek.url + "/readings", **{name: "1.6262"}, **served)
    answer = send(marek.browser, marek.url + "/readings", **{name: "1.6263"}, **served)
    assert answer.status_code == 422
    assert "read 1.6262 here after this page was opened, and 1.6263 was typed now" in answer.text
    with database.read() as session:
        kept = session.exec(select(Reading.typed).where(Reading.quantity == "ring_od")).all()
        assert kept == ["1.6262"]


def test_a_figure_typed_over_a_kept_one_strikes_it(
    marek: Walk, bench: Bench, database: Database
) -> None:
    read_all(opened(marek, bench))
    name = marek.names(".ring-")[0]
    marek.send({name: "1.6264"}, press="Keep the readings").says("Struck: ring 1 1.6262")
    with database.read() as session:
        assert session.exec(select(ReadingStrike)).one().reason == "typed again"


def test_another_window_needs_who_says_so_and_moves_the_bore(marek: Walk, bench: Bench) -> None:
    read_all(opened(marek, bench))
    window = {"least": ".002", "aim": ".003", "most": ".004"}
    marek.send(window, press="Use this window", status=422).says("Who says so")
    marek.send({**window, "source": "the engine maker's book"}, press="Use this window")
    marek.says("1.62315", "the engine maker's book")
    marek.send(press="The shop's rule again").says("1.62215")


def test_a_ring_that_does_not_belong_is_named_with_what_it_would_have(
    marek: Walk, bench: Bench
) -> None:
    read_all(opened(marek, bench), second=("1.6291", "1.6291", ".2501"))
    marek.says("The rings are .0030 apart, too much for one bore: choose a ring for each position")
    assert "does not belong" not in marek.text


def test_each_position_is_told_with_its_ring_its_bore_and_its_grip(
    marek: Walk, bench: Bench
) -> None:
    read_all(opened(marek, bench), second=("1.6291", "1.6291", ".2501"))
    with bench.database.read() as session:
        rings = session.exec(select(Ring).order_by(col(Ring.id))).all()
    for label, ring in zip(("2E", "3E"), rings, strict=True):
        with bench.hands.writing() as tx:
            choose_ring(tx, bench.ports[label], ring)
    marek.get(marek.url).says(
        "2E: ring 1, bore 1.62215, gripped by .00400, window .0030 to .0050.",
        "3E: ring 2, bore 1.62510, gripped by .00400, window .0030 to .0050.",
    )
    assert "apart" not in marek.words


def test_the_cursor_waits_in_the_first_reading_that_is_missing(marek: Walk, bench: Bench) -> None:
    opened(marek, bench)
    first, second, *_ = marek.names(".ring-")
    assert waiting(marek) == [first]
    marek.send({first: "1.6262"}, press="Keep the readings")
    assert waiting(marek) == [second]
    marek.send({second: "nan"}, press="Keep the readings", status=422)
    assert waiting(marek) == []


def waiting(walk: Walk) -> list[str]:
    """The fields that have the cursor when the page opens."""
    return re.findall(r'<input [^>]*name="([^"]+)"[^>]* autofocus', walk.text)


def test_rings_that_are_as_far_over_their_box_are_told_with_one_figure(
    marek: Walk, bench: Bench
) -> None:
    read_all(opened(marek, bench)).says("Measured .0012 over the box.")


def test_rings_wait_for_positions_when_none_is_ticked(marek: Walk, bench: Bench) -> None:
    opened(marek, bench)
    marek.send({"port": []}, press="Keep these positions").says("choose its positions")


def test_the_counter_reads_the_page_and_changes_nothing(
    signed_in_as: Callable[[str], TestClient], marek: Walk, bench: Bench
) -> None:
    url = opened(marek, bench).url
    wilma = Walk(signed_in_as("service_writer"))
    assert "Keep the readings" not in wilma.get(url).words
    assert send(wilma.browser, url + "/readings").status_code == 403
