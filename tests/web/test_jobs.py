"""Taking a job in and reading its page, with scripts off."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta
from html import unescape

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.db import Database
from app.models.customer import Customer
from app.models.head import Head
from app.models.job import Job, Note

SignedIn = Callable[[str], TestClient]

NEW = {
    "kind": "named",
    "customer": "Harrow Lane Farms",
    "phone": "555-0134",
    "customer_id": "new",
    "heads": "one",
    "wanted": "Burnt exhaust seats",
    "unit": "in",
    "promise": "",
}


def key_of(html: str) -> str:
    found = re.search(r'name="client_key" value="([0-9a-f]+)"', html)
    assert found is not None
    return found.group(1)


def take_in(browser: TestClient, **fields: str) -> str:
    """A job taken in through the page; its number."""
    answer = browser.post("/jobs/new", data=NEW | fields)
    assert answer.status_code == 303, answer.text
    found = re.fullmatch(r"/jobs/([\d-]+)/tag", answer.headers["location"])
    assert found is not None
    # What was said of it would stand on the next page, whichever that is.
    for name in [name for name in browser.cookies if name.startswith("said_")]:
        browser.cookies.delete(name)
    return found.group(1)


def jobs(database: Database) -> list[Job]:
    with database.read() as session:
        return list(session.exec(select(Job)))


def test_a_job_is_taken_in_and_goes_on_to_its_tag(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    assert wilma.get("/jobs/new").status_code == 200
    number = take_in(wilma, heads="both", place="3")
    [job] = jobs(database)
    assert (job.number, job.place, job.wanted) == (number, "3", "Burnt exhaust seats")
    with database.read() as session:
        assert [head.name for head in session.exec(select(Head))] == ["left", "right"]


def test_what_is_said_of_a_new_job_links_to_its_tag(signed_in_as: SignedIn) -> None:
    wilma = signed_in_as("service_writer")
    tag = wilma.post("/jobs/new", data=NEW).headers["location"]
    assert "To print: Ctrl and P" in re.sub("<[^>]+>", "", wilma.get(tag).text)
    page = wilma.get(tag.removesuffix("/tag")).text
    said = re.search(r'<div class="flash" role="status">(.*?)</div>', page)
    assert said is not None
    assert f'Print its tag and wire it to the head. <a href="{tag}">Tag to print</a>' in said[1]
    assert 'class="flash"' not in wilma.get(tag.removesuffix("/tag")).text


def test_the_page_opens_with_the_status_and_the_next_step(signed_in_as: SignedIn) -> None:
    wilma = signed_in_as("service_writer")
    page = unescape(wilma.get(f"/jobs/{take_in(wilma)}").text)
    assert re.search(r"<h1[^>]*>Taken in, valve layout open\. No day promised\.</h1>", page)
    assert "Describe the head" in page
    assert "Burnt exhaust seats" in page
    assert "Wilma" in page


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        ("wanted", "", "customer's words"),
        ("customer", "", "customer's name"),
        ("wanted", "x" * 2001, "longer than 2000"),
        ("customer", "Dana\x07Field", "cannot be written"),
        ("unit", "ell", "not one of the choices"),
        ("promise", "2020-01-01", "That day is over"),
        ("promise", "soon", "is not a date"),
        ("place", "x" * 61, "longer than 60"),
        ("customer_id", "-3", "must be from 1"),
        ("heads", "twelve", "not one of the choices"),
    ],
)
def test_what_cannot_be_read_is_named_kept_and_not_stored(
    signed_in_as: SignedIn, database: Database, field: str, value: str, message: str
) -> None:
    wilma = signed_in_as("service_writer")
    fields = NEW | {"customer_id": "", "place": "rack 7"} | {field: value}
    answer = wilma.post("/jobs/new", data=fields)
    page = unescape(answer.text)
    assert answer.status_code == 422
    assert 'role="alert"' in page
    assert message in page
    assert jobs(database) == []
    if field != "wanted":
        assert "Burnt exhaust seats" in page
    if field != "place":
        assert 'value="rack 7"' in page


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("", "heads' names"),
        ("A, a", "same name"),
        ("A,B,C,D,E", "at most 4"),
        (",", "heads' names"),
    ],
)
def test_other_head_names_are_read(
    signed_in_as: SignedIn, database: Database, typed: str, message: str
) -> None:
    wilma = signed_in_as("service_writer")
    answer = wilma.post("/jobs/new", data=NEW | {"heads": "named", "head_names": typed})
    assert answer.status_code == 422
    assert message in unescape(answer.text)
    assert jobs(database) == []


def test_a_known_name_is_asked_about_and_one_touch_settles_it(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    take_in(wilma)
    answer = wilma.post("/jobs/new", data=NEW | {"customer_id": ""})
    assert answer.status_code == 422
    assert "Known here: choose one" in answer.text
    with database.read() as session:
        [customer] = session.exec(select(Customer))
    take_in(wilma, customer_id=str(customer.id))
    assert {job.customer_id for job in jobs(database)} == {customer.id}


def test_without_scripts_a_button_finds_customers_and_keeps_the_form(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    take_in(wilma)
    found = wilma.post("/jobs/new", data=NEW | {"customer": "lane", "find": "yes"})
    assert found.status_code == 200
    assert "Harrow Lane Farms" in found.text
    assert "Burnt exhaust seats" in found.text
    assert len(jobs(database)) == 1


def test_while_typing_only_the_customers_are_answered(signed_in_as: SignedIn) -> None:
    wilma = signed_in_as("service_writer")
    take_in(wilma)
    answer = wilma.get("/customers/find?customer=0134", headers={"HX-Request-Type": "partial"})
    assert "Harrow Lane Farms" in answer.text
    assert "<html" not in answer.text
    assert len(answer.content) < 3000


def test_a_form_sent_twice_takes_in_one_job(signed_in_as: SignedIn, database: Database) -> None:
    wilma = signed_in_as("service_writer")
    fields = NEW | {"client_key": key_of(wilma.get("/jobs/new").text)}
    first, second = (wilma.post("/jobs/new", data=fields) for _ in range(2))
    assert first.headers["location"] == second.headers["location"]
    assert len(jobs(database)) == 1
    other = wilma.post("/jobs/new", data=fields | {"wanted": "something else"})
    assert other.status_code == 409
    assert len(jobs(database)) == 1


@pytest.mark.parametrize("number", ["26-9999", "99-0001"])
@pytest.mark.parametrize(
    "page", ["", "/consent", "/notes", "/end", "/received", "/waiting", "/history", "/customer"]
)
def test_an_unknown_job_is_not_found(signed_in_as: SignedIn, number: str, page: str) -> None:
    wilma = signed_in_as("service_writer")
    answer = wilma.get(f"/jobs/{number}{page}")
    assert answer.status_code == 404
    assert "Not found" in answer.text


def test_writing_on_an_unknown_job_is_not_found(signed_in_as: SignedIn) -> None:
    wilma = signed_in_as("service_writer")
    assert wilma.post("/jobs/26-9999/notes", data={"text": "x"}).status_code == 404
    assert wilma.post("/heads/4711/positions", data={}).status_code == 404


def test_what_was_typed_is_shown_as_text(signed_in_as: SignedIn) -> None:
    wilma = signed_in_as("service_writer")
    number = take_in(wilma, wanted="<script>alert(1)</script>", customer="<b>Dana</b>")
    page = wilma.get(f"/jobs/{number}").text
    assert "<script>alert(1)" not in page
    assert "<b>Dana" not in page


def test_a_comeback_brings_its_customer_and_links_both_ways(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    first = take_in(wilma)
    assert "Harrow Lane Farms" in wilma.get(f"/jobs/new?comeback_of={first}").text
    with database.read() as session:
        [customer] = session.exec(select(Customer))
    again = take_in(
        wilma, comeback_of=first, comeback_cause="same noise", customer_id=str(customer.id)
    )
    assert f'href="/jobs/{first}"' in wilma.get(f"/jobs/{again}").text
    assert f'href="/jobs/{again}"' in wilma.get(f"/jobs/{first}").text
    known = {"cause": "same noise", "found": "seat loose", "cost": "180.5", "told": "the foreman"}
    assert wilma.post(f"/jobs/{again}/comeback", data=known).status_code == 422
    day = jobs(database)[0].taken_in_at.date().isoformat()
    kept = wilma.post(f"/jobs/{again}/comeback", data=known | {"told_on": day})
    assert kept.status_code == 303
    for number in (first, again):
        page = wilma.get(f"/jobs/{number}").text
        assert "Found: seat loose." in page
        assert '<span class="fig">180.50</span> EUR' in page
        assert "Told: the foreman" in page


def test_one_head_of_a_pair_comes_back_as_itself(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    first = take_in(wilma, heads="both")
    with database.read() as session:
        left, right = session.exec(select(Head.id).order_by(col(Head.id))).all()
    page = wilma.get(f"/jobs/new?comeback_of={first}&head={right}").text
    assert f'name="comeback_head" value="{right}"' in page
    again = take_in(wilma, comeback_of=first, comeback_head=str(right), heads="right")
    both = take_in(wilma, comeback_of=first, heads="both")
    with database.read() as session:
        returned = select(Head.comeback_of_id).order_by(col(Head.id))
        assert session.exec(returned).all() == [None, None, right, left, right]
    told = wilma.get(f"/jobs/{first}").text
    assert "Right came back" in told
    assert "Left and right came back" in told
    assert f'href="/jobs/{again}"' in told
    assert f'href="/jobs/{both}"' in told


def test_a_job_is_said_to_be_a_comeback_later_and_only_of_an_earlier_one(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    first, second = take_in(wilma), take_in(wilma)
    for refused in ("", second, "19-0001"):
        answer = wilma.post(f"/jobs/{second}/comeback", data={"comeback_of": refused})
        assert answer.status_code == 422
    assert wilma.post(f"/jobs/{second}/comeback", data={"comeback_of": first}).status_code == 303
    assert [job.comeback_of_id for job in jobs(database)] == [None, 1]
    assert wilma.post(f"/jobs/{first}/comeback", data={"comeback_of": second}).status_code == 422


def test_every_event_of_a_job_is_read_page_by_page(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    number = take_in(wilma)
    for nth in range(45):
        wilma.post(f"/jobs/{number}/notes", data={"text": f"note {nth}"})
    with database.read() as session:
        assert len(session.exec(select(Note)).all()) == 45
    page = wilma.get(f"/jobs/{number}/history")
    earlier = re.search(rf"/jobs/{number}/history\?before=\d+", page.text)
    assert earlier is not None
    assert "took in the job" not in page.text
    assert "took in the job" in wilma.get(earlier.group()).text


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (
            {"promised_on": (date.today() + timedelta(days=7)).isoformat()},
            "Touch “other” for this day to be promised",
        ),
        ({"head_names": "A, B"}, "Touch “Others” for these names to count"),
    ],
)
def test_what_was_typed_beside_another_answer_is_asked_about_and_not_dropped(
    signed_in_as: SignedIn, database: Database, typed: dict[str, str], told: str
) -> None:
    answer = signed_in_as("service_writer").post("/jobs/new", data=NEW | typed)
    assert answer.status_code == 422
    assert told in unescape(answer.text)
    assert next(iter(typed.values())) in answer.text
    assert jobs(database) == []
