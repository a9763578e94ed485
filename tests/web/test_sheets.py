"""Papers over the web: drafts, issuing, and issued bytes that come back as they went out."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Callable
from secrets import token_hex

import pytest
from httpx2 import Response
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.customer import Customer
from app.models.job import Job
from app.models.sheet import Sheet
from tests.services.finished import finish_head
from tests.web.bench import Bench, send, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


def papers(bench: Bench) -> str:
    return f"/jobs/{bench.job.number}/sheets"


def issued(browser: TestClient, bench: Bench, kind: str = "tag", **fields: str) -> str:
    """Issue a sheet; its address."""
    answer = send(browser, papers(bench), kind=kind, **fields)
    assert answer.status_code == 303, words(answer)
    return answer.headers["location"].removesuffix("/about")


def allows_only_its_own_style(answer: Response) -> None:
    style = answer.text.partition("<style>")[2].partition("</style>")[0]
    digest = base64.b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode()
    policy = answer.headers["Content-Security-Policy"]
    assert f"style-src 'sha256-{digest}'" in policy
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert answer.text.count("<style") == 1
    assert not re.search(r"<script|<link|\sstyle=|\son[a-z]+=", answer.text)


@pytest.mark.parametrize("page", ["tag", "tag?paper=label", "set-up", "record", "card"])
def test_every_page_for_paper_has_a_policy_of_its_own(
    marek: TestClient, bench: Bench, page: str
) -> None:
    of_head = page in ("record", "card")
    place = f"/heads/{bench.head.id}" if of_head else f"/jobs/{bench.job.number}"
    answer = marek.get(f"{place}/{page}")
    assert answer.status_code == 200
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    allows_only_its_own_style(answer)
    assert bench.job.number in words(answer)


def test_an_issued_sheet_comes_back_byte_for_byte(
    marek: TestClient, bench: Bench, database: Database
) -> None:
    url = issued(marek, bench)
    with database.read() as session:
        sheet = session.exec(select(Sheet)).one()
    answer = marek.get(url)
    assert answer.content == sheet.html.encode("utf-8")
    assert hashlib.sha256(answer.content).hexdigest() == sheet.sha256
    assert answer.headers["Content-Type"] == "text/html; charset=utf-8"
    assert answer.headers["ETag"] == f'"{sheet.sha256}"'
    allows_only_its_own_style(answer)
    again = marek.get(url, headers={"If-None-Match": answer.headers["ETag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_a_later_change_touches_no_issued_byte(
    marek: TestClient, bench: Bench, database: Database
) -> None:
    url = issued(marek, bench)
    before = marek.get(url).content
    with database.write() as session:
        session.exec(select(Customer)).one().name = "Fern Hollow Estate"
        session.get_one(Job, bench.job.id).place = "Rack 9"
    assert marek.get(url).content == before
    assert "Rack 9" in marek.get(f"/jobs/{bench.job.number}/tag").text


def test_what_is_superseded_says_so_on_a_page_before_the_sheet_and_not_on_it(
    marek: TestClient, bench: Bench, database: Database
) -> None:
    first = issued(marek, bench)
    before = marek.get(first).content
    mark = marek.get(first).headers["ETag"]
    assert "The newest revision." in words(marek.get(f"{first}/about"))
    asked = send(marek, papers(bench), kind="tag")
    assert asked.status_code == 422
    assert "say why it is issued again" in words(asked)
    second = issued(marek, bench, because="the rack place was wrong.")
    assert "Superseded: revision 2 is the newest." in words(marek.get(f"{first}/about"))
    assert "superseded by revision 2" in words(marek.get(papers(bench)))
    assert marek.get(f"{first}/as-issued").content == before
    assert marek.get(second).content == marek.get(f"{second}/as-issued").content
    answer = marek.get(first, headers={"If-None-Match": mark})
    assert answer.status_code == 200
    assert answer.content.endswith(before)
    cover = answer.content.removesuffix(before).decode()
    assert "Superseded by revision 2 of " in cover
    assert "Because the rack place was wrong." in cover
    with database.read() as session:
        assert all(sheet.sha256 in cover for sheet in session.exec(select(Sheet)))
    styles = re.findall("<style>(.*?)</style>", answer.text, re.DOTALL)
    assert len(styles) == 2
    for style in styles:
        digest = base64.b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode()
        assert f"'sha256-{digest}'" in answer.headers["Content-Security-Policy"]


def test_a_record_waits_for_its_signature_and_a_draft_does_not(
    marek: TestClient, bench: Bench
) -> None:
    answer = send(marek, papers(bench), kind="record", head=str(bench.head.id))
    assert answer.status_code == 409
    assert "Not signed yet: 1E" in words(answer)
    assert "Draft, not issued" in words(marek.get(f"/heads/{bench.head.id}/record"))


def test_a_signed_head_gets_its_record(marek: TestClient, bench: Bench) -> None:
    finish_head(bench)
    assert "Issue the head record" in words(marek.get(papers(bench)))
    answer = marek.get(issued(marek, bench, "record", head=str(bench.head.id)))
    told = words(answer)
    assert "Draft" not in told
    assert "Revision 1, issued" in told
    assert "2 of 2 seat rings in" in told
    assert "Finished by these readings: 1E, 1I, 2I, 2E, 3E, 3I and 4I" in told


def test_the_counter_prints_and_the_bench_issues(
    signed_in_as: SignedInAs, bench: Bench, marek: TestClient
) -> None:
    url = issued(marek, bench)
    wilma = signed_in_as("Wilma")
    assert wilma.get(f"/jobs/{bench.job.number}/tag").status_code == 200
    assert wilma.get(url).status_code == 200
    assert "Issue the tag" not in words(wilma.get(papers(bench)))
    assert send(wilma, papers(bench), kind="tag").status_code == 403


def test_a_form_sent_twice_issues_one_sheet(marek: TestClient, bench: Bench) -> None:
    key = token_hex(16)
    urls = {send(marek, papers(bench), key, kind="tag").headers["location"] for _ in range(2)}
    assert len(urls) == 1


def test_an_unknown_kind_is_asked_again(marek: TestClient, bench: Bench) -> None:
    answer = send(marek, papers(bench), kind="invoice")
    assert answer.status_code == 422
    assert "Choose what is to be issued." in words(answer)


def test_an_unknown_head_or_sheet_is_not_found(
    marek: TestClient, bench: Bench, database: Database
) -> None:
    other = bench.hands.take_in(customer="Brook Lane Garage", wanted="knocks")
    theirs = bench.hands.heads(other)[0].id
    assert marek.get(f"/jobs/{bench.job.number}/set-up?head={theirs}").status_code == 404
    for head in (str(theirs), "99999"):
        assert send(marek, papers(bench), kind="set_up", head=head).status_code in (404, 409)
    for url in ("/sheets/4711", "/sheets/4711/about", "/heads/4711/record", "/jobs/26-9999/tag"):
        assert marek.get(url).status_code == 404
    with database.read() as session:
        assert session.exec(select(Sheet)).all() == []


def test_what_a_customer_is_called_is_never_code(
    marek: TestClient, bench: Bench, database: Database
) -> None:
    with database.write() as session:
        session.exec(select(Customer)).one().name = "<script>alert(1)</script>"
    answer = marek.get(f"/jobs/{bench.job.number}/tag")
    assert "&lt;script&gt;" in answer.text
    allows_only_its_own_style(answer)


def test_a_tag_for_each_head_says_which_it_is(marek: TestClient, bench: Bench) -> None:
    pair = bench.hands.take_in(
        customer="Cinder Path Racing", wanted="hard seats all round", heads="both"
    )
    told = words(marek.get(f"/jobs/{pair.number}/tag"))
    assert "left · head 1 of 2" in told
    assert "right · head 2 of 2" in told


def test_a_sheet_whose_text_was_changed_behind_the_shop_says_so(
    marek: TestClient, bench: Bench, database: Database
) -> None:
    url = issued(marek, bench)
    forged = "UPDATE sheet SET html = replace(html, 'Fern Hollow', 'Other Hollow')"
    raw = database.engine.raw_connection()
    triggers = raw.execute(
        "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'sheet'"
    ).fetchall()
    for (name,) in triggers:
        raw.execute(f"DROP TRIGGER {name}")
    raw.execute(forged)
    raw.close()
    assert "This sheet is not as it was issued." in words(marek.get(f"{url}/about"))
