"""One signature for finished positions, and the hand-over, with scripts off."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from httpx2 import Response
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.head import NotDone
from app.models.inspection import Inspection
from app.models.job import Job
from app.models.sheet import Signature
from app.workflow.words import Ended, InspectionKind, Outcome
from tests.web.bench import Bench, send, words
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def stage() -> str:
    """How far the bench is; a test that starts elsewhere says so."""
    return "ringed"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


def finish(bench: Bench) -> None:
    bench.hands.finish(
        bench.head, {label: [".060", ".001", "1.852"] for label in bench.ports if label != "4E"}
    )


def pressure_tested(bench: Bench) -> None:
    with bench.hands.writing() as tx:
        tx.add(
            Inspection(
                head_id=bench.head.id,
                kind=InspectionKind.PRESSURE_AFTER,
                outcome=Outcome.OK,
                method="40 psi in warm water",
                taken_at=tx.at,
                by_id=tx.by_id,
                at=tx.at,
            )
        )


def sign(bench: Bench, browser: TestClient, *labels: str, key: str = "") -> Response:
    ports = [str(bench.ports[label].id) for label in labels]
    return browser.post(
        f"/jobs/{bench.job.number}/sign", data={"client_key": key or "1" * 32, "port": ports}
    )


def signatures(database: Database) -> int:
    with database.read() as session:
        return len(session.exec(select(Signature)).all())


ALL = ("1E", "1I", "2I", "2E", "3E", "3I", "4I")


def test_finished_positions_stand_as_rows_with_their_figures(
    bench: Bench, marek: TestClient
) -> None:
    finish(bench)
    page = marek.get(f"/jobs/{bench.job.number}/sign")
    told = words(page)
    assert "7 positions to sign" in told
    assert "1.62615" in told
    assert ".00395" in told
    assert "Sign as Marek" in told
    assert page.text.count('name="port"') == 7


def test_what_is_open_is_listed_with_links_and_is_not_signed(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    page = marek.get(f"/jobs/{bench.job.number}/sign")
    assert "Nothing to sign yet" in words(page)
    assert f'href="/heads/{bench.head.id}/finish"' in page.text
    answer = sign(bench, marek, "2E")
    assert answer.status_code == 409
    assert "Not signed yet. Still open" in words(answer)
    assert signatures(database) == 0


def test_one_signature_is_for_the_whole_batch(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    finish(bench)
    answer = sign(bench, marek, *ALL)
    assert answer.status_code == 303
    assert signatures(database) == 1
    page = words(marek.get(f"/jobs/{bench.job.number}/sign"))
    assert "All signed" in page
    assert "7 signed" in page


def test_signing_twice_is_refused_in_words_and_signed_once(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    finish(bench)
    for _ in range(2):
        assert sign(bench, marek, *ALL).status_code == 303
    again = sign(bench, marek, "2E", key="2" * 32)
    assert again.status_code == 409
    assert "2E is signed already" in words(again)
    assert signatures(database) == 1


def test_a_signature_for_nothing_is_refused(bench: Bench, marek: TestClient) -> None:
    finish(bench)
    answer = sign(bench, marek)
    assert answer.status_code == 422
    assert "Tick the positions to sign" in words(answer)


def test_a_position_of_another_job_is_not_signed_here(bench: Bench, marek: TestClient) -> None:
    finish(bench)
    answer = marek.post(f"/jobs/{bench.job.number}/sign", data={"port": ["99999"]})
    assert answer.status_code in (404, 409)
    assert "not in this job" in words(answer)


def test_the_counter_looks_at_the_figures_and_does_not_sign(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    finish(bench)
    wilma = signed_in_as("Wilma")
    assert wilma.get(f"/jobs/{bench.job.number}/sign").status_code == 200
    assert sign(bench, wilma, *ALL).status_code == 403
    assert signatures(database) == 0


def test_hand_over_lists_what_the_record_must_still_hold(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    finish(bench)
    wilma = signed_in_as("Wilma")
    url = f"/jobs/{bench.job.number}/hand-over"
    page = wilma.get(url)
    told = words(page)
    assert "Not ready to hand over" in told
    assert "Pressure test after boring" in told
    assert f'href="/heads/{bench.head.id}/inspections"' in page.text
    assert f'href="/jobs/{bench.job.number}/sign"' in page.text
    answer = send(wilma, url, clean="ok", collected_by="Fern")
    assert answer.status_code == 409
    assert "Still open before hand-over" in words(answer)
    assert 'value="Fern"' in answer.text
    with database.read() as session:
        assert session.get_one(Job, bench.job.id).ended_as is None


@pytest.fixture
def signed(bench: Bench, marek: TestClient) -> Bench:
    finish(bench)
    pressure_tested(bench)
    sign(bench, marek, *ALL)
    bench.hands.count(bench.job)
    bench.hands.count(bench.job, way="out")
    return bench


def test_a_signed_job_is_handed_over_to_someone(
    signed: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    wilma, url = signed_in_as("Wilma"), f"/jobs/{signed.job.number}/hand-over"
    assert "Ready to hand over" in words(wilma.get(url))
    nobody = send(wilma, url, clean="ok", collected_by=" ")
    assert nobody.status_code == 422
    assert "Say who collects it" in words(nobody)
    for _ in range(2):
        answer = send(wilma, url, key="3" * 32, clean="ok", collected_by="Fern")
        assert answer.status_code == 303
    with database.read() as session:
        job = session.get_one(Job, signed.job.id)
        assert job.ended_as is Ended.HANDED_OVER
        assert job.collected_by == "Fern"
    assert signatures(database) == 2
    late = send(wilma, url, clean="ok", collected_by="Fern")
    assert late.status_code == 409
    assert "over already" in words(late)


def test_a_finished_job_is_counted_out_from_its_hand_over(
    bench: Bench, marek: TestClient, signed_in_as: SignedInAs
) -> None:
    finish(bench)
    pressure_tested(bench)
    sign(bench, marek, *ALL)
    bench.hands.count(
        bench.job, pieces_0="8", pieces_1="16", other_0="lash caps", other_pieces_0="8"
    )
    wilma = Walk(signed_in_as("Wilma")).get(f"/jobs/{bench.job.number}")
    wilma.says("parts to be counted out")
    wilma.follow("Count the parts out").says("Count the parts out", "8 came in", "16 came in")
    wilma.send({"pieces_0": "7"}, "Count out").says("valves: 8 came in, 7 go out, 1 fewer")
    wilma.get(f"/jobs/{bench.job.number}/hand-over").says(
        "Not ready to hand over", "springs and lash caps not counted yet"
    )
    wilma.follow("Parts counted out").says("Springs: 16 came in, not counted out yet")
    wilma.send({"pieces_1": "16", "other_pieces_0": "8"}, "Count out").says(
        "ready for hand-over", "8 valves, 16 springs, 8 lash caps"
    )
    wilma.follow("Hand over").says("Ready to hand over", "Valves: 8 came in, 7 go out, 1 fewer")


def test_the_last_looks_are_asked_at_the_hand_over_and_what_was_typed_stays(
    signed: Bench, signed_in_as: SignedInAs
) -> None:
    wilma, url = signed_in_as("Wilma"), f"/jobs/{signed.job.number}/hand-over"
    page = words(wilma.get(url))
    assert "Final clean" in page
    assert "No picture shows the head as it came in" in page
    bare = send(wilma, url, collected_by="Fern")
    assert bare.status_code == 422
    assert "Say whether the final clean was done" in words(bare)
    assert 'value="Fern"' in bare.text
    why = send(wilma, url, clean="not_done", collected_by="Fern")
    assert why.status_code == 422
    assert "Write why it was not cleaned" in words(why)
    signed.hands.count(signed.job, way="out", pieces_0="1")
    differ = send(wilma, url, clean="ok", collected_by="Fern")
    assert differ.status_code == 422
    assert "Write what became of them" in words(differ)
    done = send(wilma, url, clean="ok", parts_because="kept as a sample", collected_by="Fern")
    assert done.status_code == 303
    papers = words(wilma.get(f"/jobs/{signed.job.number}/sheets"))
    assert "Customer's record" in papers
    assert "kept as a sample" in words(wilma.get(f"/heads/{signed.head.id}/customer-record"))


def test_what_was_not_done_stands_in_words_before_the_hand_over(
    bench: Bench, marek: TestClient
) -> None:
    finish(bench)
    with bench.hands.writing() as tx:
        tx.add(
            NotDone(
                head_id=bench.head.id,
                requirement="pressure_after",
                because="the tester is away for repair",
                by_id=tx.by_id,
                at=tx.at,
            )
        )
    page = marek.get(f"/jobs/{bench.job.number}/hand-over")
    assert "the tester is away for repair" in words(page)


def test_a_reading_struck_after_signing_takes_the_position_out_of_what_is_done(
    signed: Bench, marek: TestClient
) -> None:
    page = marek.get(signed.at("2E", "cut"))
    reading_id = page.text.split("/cut/readings/")[1].split("/")[0]
    struck = send(
        marek, signed.at("2E", f"cut/readings/{reading_id}/strike"), reason="gauge was off zero"
    )
    assert struck.status_code == 303
    told = words(marek.get(signed.at("2E", "ring-in")))
    assert "Bore proved no longer stands" in told
    assert "The ring is in and the bore cannot be gauged" in told
    out = words(marek.get(f"/jobs/{signed.job.number}/hand-over"))
    assert "Not ready to hand over" in out


def test_the_history_says_what_was_read_judged_and_left(signed: Bench, marek: TestClient) -> None:
    page = marek.get(f"/jobs/{signed.job.number}/history")
    told = words(page)
    for each in (
        "judged a bore · 2E : inside the window, interference .00",
        "gauged a bore · 2E : bore 1.6205, 1.6205; depth .2501",
        "clamped up a head: touch-off",
        "made a setting: at 2E and 3E, counterbore 1.622",
        "recorded inspections: crack test OK",
        "seatwright check looks the whole log through",
        "recorded readings: 8 of stem height",
        "said why it was not done: 2E and 3E: wall behind the counterbore: no thickness gauge here",
    ):
        assert each in told, told
    assert "Earlier" not in told
    numbers = [int(each) for each in re.findall(r"event </span>(\d+)", page.text)]
    assert numbers == sorted(numbers, reverse=True)
    before = words(marek.get(f"/jobs/{signed.job.number}/history?before={numbers[-2]}"))
    assert "took in the job" in before
    assert "judged a bore" not in before


def test_what_is_still_open_stands_in_one_line_a_position(bench: Bench, marek: TestClient) -> None:
    page = marek.get(f"/jobs/{bench.job.number}/sign")
    said = re.search(r"Still open: (\d+) positions", page.text)
    assert said is not None
    lines = page.text.split("Still open: ")[1].split("</ul>")[0].count("<li>")
    assert lines == int(said[1])
    assert "more</span>" in page.text
