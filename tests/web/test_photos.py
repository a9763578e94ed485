"""Pictures of a job: taken from a page, shown small first, taken off with a reason."""

from __future__ import annotations

from collections.abc import Callable
from html import unescape
from pathlib import Path

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.config import Settings
from app.db import Database
from app.models.photo import Photo, PhotoStrike
from tests.test_pictures import encoded
from tests.web.test_jobs import take_in

SignedIn = Callable[[str], TestClient]


@pytest.fixture
def wilma(signed_in_as: SignedIn) -> TestClient:
    """The service writer at the counter."""
    return signed_in_as("service_writer")


@pytest.fixture
def number(wilma: TestClient) -> str:
    """A job that was just taken in."""
    return take_in(wilma)


def send(
    browser: TestClient, number: str, *files: bytes, key: str = "k1", **fields: str
) -> tuple[int, str]:
    sent = [("picture", (f"{n}.jpg", content, "image/jpeg")) for n, content in enumerate(files)]
    data = {"client_key": key, "photo_of": "intake", "about": "", "caption": ""} | fields
    answer = browser.post(f"/jobs/{number}/photos", data=data, files=sent)
    return answer.status_code, unescape(answer.text)


def photos(database: Database) -> list[Photo]:
    with database.read() as session:
        return list(session.exec(select(Photo)))


def test_a_picture_is_kept_and_shown_on_the_job(
    wilma: TestClient, number: str, database: Database
) -> None:
    assert send(wilma, number, encoded(), caption="Cast number")[0] == 303
    [photo] = photos(database)
    page = unescape(wilma.get(f"/jobs/{number}/photos").text)
    assert "Cast number" in page
    assert f'src="/photos/{photo.id}/small"' in wilma.get(f"/jobs/{number}").text
    for address in (f"/photos/{photo.id}", f"/photos/{photo.id}/small"):
        answer = wilma.get(address)
        assert answer.headers["Content-Type"] == "image/jpeg"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Cache-Control"] == "private, no-cache"
        mark = {"If-None-Match": answer.headers["ETag"]}
        assert wilma.get(address, headers=mark).status_code == 304
    wilma.post("/sign-out")
    assert wilma.get(address, headers=mark).status_code == 303


def test_several_pictures_go_in_one_sending(
    wilma: TestClient, number: str, database: Database
) -> None:
    assert send(wilma, number, encoded((40, 20)), encoded((20, 40)))[0] == 303
    assert [(photo.width, photo.height) for photo in photos(database)] == [(40, 20), (20, 40)]


def test_the_same_sending_twice_is_kept_once(
    wilma: TestClient, number: str, database: Database
) -> None:
    for _ in range(2):
        assert send(wilma, number, encoded(), key="once")[0] == 303
    assert len(photos(database)) == 1


def test_a_text_named_jpg_is_refused_and_the_words_are_kept(
    wilma: TestClient, number: str, database: Database, settings: Settings
) -> None:
    status, page = send(wilma, number, b"bore 1.6222\n" * 9, caption="Cracked bridge")
    assert status == 422
    assert "Picture: is not a JPEG, PNG or WebP picture" in page
    assert 'value="Cracked bridge"' in page
    assert photos(database) == []
    assert not settings.photos.exists()


def test_one_bad_file_among_good_ones_keeps_none_of_them(
    wilma: TestClient, number: str, database: Database
) -> None:
    assert send(wilma, number, encoded(), b"no picture")[0] == 422
    assert photos(database) == []


def test_without_a_file_the_page_asks_for_one(
    wilma: TestClient, number: str, database: Database
) -> None:
    status, page = send(wilma, number)
    assert status == 422
    assert "no picture came with it" in page
    assert photos(database) == []


def test_a_position_of_another_job_is_refused(wilma: TestClient, number: str) -> None:
    status, page = send(wilma, number, encoded(), about="port-99999")
    assert status == 422
    assert "is not on this job" in page


def test_an_unknown_job_writes_nothing(wilma: TestClient, settings: Settings) -> None:
    assert send(wilma, "26-9999", encoded())[0] == 404
    assert not settings.photos.exists()


def test_a_picture_taken_off_is_gone_from_the_pages_and_stays_on_record(
    wilma: TestClient, number: str, database: Database
) -> None:
    send(wilma, number, encoded(), caption="A face in it")
    [photo] = photos(database)
    form = {"reason": "somebody's face"}
    assert wilma.post(f"/photos/{photo.id}/take-off", data=form).status_code == 303
    page = unescape(wilma.get(f"/jobs/{number}/photos").text)
    assert "somebody's face" in page
    assert f"/photos/{photo.id}/small" not in page
    assert f"/photos/{photo.id}/small" not in wilma.get(f"/jobs/{number}").text
    with database.read() as session:
        assert session.exec(select(PhotoStrike.reason)).all() == ["somebody's face"]
        assert session.get(Photo, photo.id) is not None


def test_taking_off_wants_a_reason(wilma: TestClient, number: str, database: Database) -> None:
    send(wilma, number, encoded())
    [photo] = photos(database)
    answer = wilma.post(f"/photos/{photo.id}/take-off", data={"reason": " "})
    assert answer.status_code == 422
    assert "Say why it is taken off" in answer.text


def test_a_lost_file_is_said_in_words(
    wilma: TestClient, number: str, database: Database, settings: Settings
) -> None:
    send(wilma, number, encoded())
    [photo] = photos(database)
    for file in Path(settings.photos).rglob("*.jpg"):
        file.unlink()
    answer = wilma.get(f"/photos/{photo.id}")
    assert answer.status_code == 404
    assert "A backup may have it" in answer.text


def test_nobody_sees_a_picture_without_signing_in(
    wilma: TestClient, client: TestClient, number: str, database: Database
) -> None:
    send(wilma, number, encoded())
    [photo] = photos(database)
    assert client.get(f"/photos/{photo.id}").status_code != 200


def test_only_the_page_of_pictures_takes_more_than_a_form(wilma: TestClient, number: str) -> None:
    large = b"x" * (2 * 1024 * 1024)
    assert wilma.post(f"/jobs/{number}/notes", content=large).status_code == 413
    assert send(wilma, number, large)[0] == 422
