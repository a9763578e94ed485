"""What every request passes and every answer carries."""

from __future__ import annotations

import gzip
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from fastapi import FastAPI
from sqlmodel import select
from starlette.responses import PlainTextResponse
from starlette.testclient import TestClient

from app.config import Settings
from app.db import Database
from app.models.photo import Photo
from app.paths import folder
from app.web.security import MOST_API, MOST_FORM, POLICY
from tests.web.conftest import HERE, Cast
from tests.web.test_jobs import take_in

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def new_job(signed_in_as: SignedInAs) -> str:
    """A job that was just taken in."""
    return take_in(signed_in_as("service_writer"))


@pytest.fixture
def sender(app: FastAPI) -> TestClient:
    """A browser that sends no origin of its own."""
    return TestClient(app, base_url=HERE, follow_redirects=False)


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "same-origin"},
        {"Sec-Fetch-Site": "none"},
        {"Origin": "http://testserver"},
        {"Origin": "HTTP://TESTSERVER"},
        {"Sec-Fetch-Site": "same-origin", "Origin": "null"},
    ],
)
def test_a_form_of_this_shop_is_taken(sender: TestClient, headers: dict[str, str]) -> None:
    assert sender.post("/sign-out", headers=headers).status_code == 303


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "cross-site", "Origin": "http://testserver"},
        {"Sec-Fetch-Site": ""},
        {"Origin": "null"},
        {"Origin": ""},
        {"Origin": "http://elsewhere.example"},
        {"Origin": "http://testserver:8138"},
        {"Origin": "http://testserver.elsewhere.example"},
        {"Referer": "http://testserver/people"},
    ],
)
@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
def test_a_form_from_elsewhere_is_refused_in_words(
    sender: TestClient, method: str, headers: dict[str, str]
) -> None:
    answer = sender.request(method, "/sign-out", headers=headers)
    assert answer.status_code == 403
    assert "not sent by a page of this shop" in answer.text
    assert answer.headers["Content-Security-Policy"] == POLICY


def test_a_form_from_elsewhere_changes_nothing_for_who_is_signed_in(
    signed_in_as: SignedInAs, cast: Cast
) -> None:
    owner = signed_in_as("owner")
    evil = {"Origin": "http://elsewhere.example"}
    assert owner.post(f"/people/{cast['Marek']}/retire", headers=evil).status_code == 403
    assert f"/people/{cast['Marek']}/edit" in owner.get("/people").text


def test_reading_needs_no_origin(sender: TestClient) -> None:
    assert sender.get("/sign-in").status_code == 200


def test_the_calculations_are_open_to_programs(sender: TestClient) -> None:
    assert sender.post("/api/calc/clean-up", json={}).status_code == 422
    assert sender.post("/api/calculate", json={}).status_code == 403


@pytest.mark.parametrize("host", ["elsewhere.example", "", "testserver.elsewhere.example", "["])
def test_another_name_is_not_answered_to(sender: TestClient, host: str) -> None:
    answer = sender.get("/healthz", headers={"Host": host})
    assert answer.status_code == 400
    assert "does not answer to this name" in answer.text


@pytest.mark.parametrize("host", ["testserver", "TestServer:8137", "127.0.0.1:8137"])
def test_its_own_names_are_answered_to(sender: TestClient, host: str) -> None:
    assert sender.get("/healthz", headers={"Host": host}).status_code == 200


PAGES = ("/sign-in", "/my-pin", "/people", "/no-such-page", "/healthz", "/people/7/edit")


@pytest.mark.parametrize("path", PAGES)
def test_every_answer_carries_the_strict_policy(signed_in_as: SignedInAs, path: str) -> None:
    headers = signed_in_as("owner").get(path).headers
    assert headers["Content-Security-Policy"] == POLICY
    assert "unsafe" not in POLICY
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize("path", PAGES)
def test_no_page_has_code_or_style_in_it(signed_in_as: SignedInAs, path: str) -> None:
    html = signed_in_as("owner").get(path).text
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", html)
    assert not re.search(r"<script(?![^>]*\ssrc=)", html)


def test_a_policy_that_an_answer_set_itself_stays(app: FastAPI, client: TestClient) -> None:
    own = "default-src 'none'; style-src 'sha256-abc'"
    app.add_api_route(
        "/sheet", lambda: PlainTextResponse("", headers={"Content-Security-Policy": own})
    )
    answer = client.get("/sheet")
    assert answer.headers.get_list("Content-Security-Policy") == [own]


def test_a_fault_is_told_in_words_with_the_policy(app: FastAPI) -> None:
    def broken() -> None:
        raise ZeroDivisionError("secret detail")

    app.add_api_route("/broken", broken)
    answer = TestClient(app, base_url=HERE, raise_server_exceptions=False).get("/broken")
    assert answer.status_code == 500
    assert "Something went wrong here" in answer.text
    assert "secret" not in answer.text
    assert answer.headers["Content-Security-Policy"] == POLICY


def test_too_large_a_form_is_refused(client: TestClient, cast: Cast) -> None:
    answer = client.post(f"/sign-in/{cast['Marek']}", content=b"pin=" + b"1" * MOST_FORM)
    assert answer.status_code == 413
    assert "Nothing was stored" in answer.text


def test_a_body_that_does_not_say_its_size_is_counted(client: TestClient, cast: Cast) -> None:
    def pieces():  # type: ignore[no-untyped-def]
        yield b"pin="
        for _ in range(20):
            yield b"1" * (MOST_FORM // 16)

    answer = client.post(
        f"/sign-in/{cast['Marek']}",
        content=pieces(),
        headers={"Content-Type": "application/x-www-form-urlencoded"},
    )
    assert answer.status_code == 413


def test_a_calculation_takes_less(client: TestClient) -> None:
    answer = client.post("/api/calc/clean-up", content=b" " * (MOST_API + 1))
    assert answer.status_code == 413
    assert answer.json()["errors"][0]["message"].endswith("Nothing was stored.")


def test_static_files_are_kept_for_good_under_their_mark(client: TestClient) -> None:
    html = client.get("/sign-in").text
    (style,) = re.findall(r'href="(/static/app\.css\?[0-9a-f]{10})"', html)
    assert "immutable" in client.get(style).headers["Cache-Control"]
    assert client.get("/static/app.css").headers["Cache-Control"] == "no-cache"


def test_the_first_load_is_small(app: FastAPI, cast: Cast) -> None:
    """At most 60 kB packed in at most 5 requests, the page included."""
    browser = TestClient(app, base_url=HERE)
    browser.headers["Accept-Encoding"] = "gzip"
    with browser.stream("GET", "/sign-in") as answer:
        packed = b"".join(answer.iter_raw())
        assert answer.headers["Content-Encoding"] == "gzip"
    html = gzip.decompress(packed).decode()
    files = re.findall(r'(?:href|src)="(/static/[^"]+)"', html)
    assert len(files) + 1 <= 5
    total = len(packed)
    for file in files:
        with browser.stream("GET", file) as answer:
            total += len(b"".join(answer.iter_raw()))
    assert total <= 60_000


def test_every_file_a_page_names_is_there(client: TestClient) -> None:
    for file in re.findall(r'(?:href|src)="(/static/[^"]+)"', client.get("/sign-in").text):
        assert client.get(file).status_code == 200
        assert (Path(folder("static")) / file.split("?")[0].removeprefix("/static/")).is_file()


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app/config.py",
        "/static/%2e%2e/pyproject.toml",
        "/static/%2e%2e%2fpyproject.toml",
        "/static/vendor%2f..%2f..%2fpyproject.toml",
        "/static/..%5c..%5cpyproject.toml",
        "/static//etc/passwd",
        "/static/%2fetc%2fpasswd",
        "/static/app.css%00.png",
        "/photos/..%2fseatwright.sqlite3",
        "/photos/%2e%2e/small",
        "/sheets/..%2f..%2fseatwright.sqlite3",
        "/backups/seatwright.sqlite3",
        "/figures/..%2fdays/csv",
    ],
)
def test_no_path_leads_out_of_what_is_served(signed_in_as: SignedInAs, path: str) -> None:
    assert signed_in_as("owner").get(path).status_code == 404


def test_an_address_adds_no_header_to_a_file(signed_in_as: SignedInAs) -> None:
    ends = '2026-01"\r\nSet-Cookie: a=b'
    answer = signed_in_as("owner").get("/figures/days/csv", params={"from": ends, "to": ends[:7]})
    assert answer.status_code == 404
    answer = signed_in_as("owner").get("/figures/days/csv", params={"from": '1"\r\na:', "to": ";"})
    named = answer.headers["content-disposition"]
    assert re.fullmatch(r'attachment; filename="days-\d{4}-\d\d-to-\d{4}-\d\d\.csv"', named)


PART = b'--b\r\nContent-Disposition: form-data; name="a"\r\n'
MANY = 400_000
ODD_BODIES = {
    "one header without end": PART + b"X-A: " + b"a" * MANY,
    "headers without end": PART + b"X-A: a\r\n" * (MANY // 8),
    "nothing before the first part": b"\r\n" * (MANY // 2),
    "no part": b"x" * MANY,
    "parts without end": (PART + b"\r\n\r\n") * (MANY // 50),
    "a field without end": PART + b"\r\n" + b"v" * (MOST_FORM + 9),
    "a name without end": PART.replace(b"a", b"a" * MANY) + b"\r\nv\r\n--b--\r\n",
    "files without end": (PART.replace(b'"a"', b'"picture"; filename="a"') + b"\r\n\xff\r\n") * 200,
}


@pytest.mark.parametrize("body", ODD_BODIES.values(), ids=list(ODD_BODIES))
def test_a_form_of_parts_that_no_page_sends_is_refused_and_nothing_is_kept(
    signed_in_as: SignedInAs, body: bytes, database: Database, settings: Settings, new_job: str
) -> None:
    answer = signed_in_as("owner").post(
        f"/jobs/{new_job}/photos",
        content=body,
        headers={"Content-Type": "multipart/form-data; boundary=b"},
    )
    assert answer.status_code in (400, 413, 422)
    assert not settings.photos.exists()
    with database.read() as session:
        assert session.exec(select(Photo.id)).all() == []


@pytest.mark.parametrize(
    "body", [b"a&" * 4000, b"a=b&" * 4000, b"a=" + b"%41" * 5000, b"n" * 200 + b"=1"]
)
def test_a_form_with_more_or_longer_fields_than_a_page_has_is_refused(
    client: TestClient, cast: Cast, body: bytes
) -> None:
    form = {"Content-Type": "application/x-www-form-urlencoded"}
    assert client.post("/sign-out", content=body, headers=form).status_code in (400, 413)


def test_a_packed_body_is_not_unpacked(client: TestClient, cast: Cast) -> None:
    body = gzip.compress(b"pin=" + cast.pins["Marek"].encode() + b"&x=" + b"1" * 10_000_000)
    answer = client.post(
        f"/sign-in/{cast['Marek']}",
        content=body,
        headers={
            "Content-Type": "application/x-www-form-urlencoded",
            "Content-Encoding": "gzip",
        },
    )
    assert answer.status_code in (413, 422)
