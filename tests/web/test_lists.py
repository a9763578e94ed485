"""Lists as files: with the filters of their page, in both units, and never a formula."""

from __future__ import annotations

import csv
from collections.abc import Callable
from io import StringIO

import pytest
from httpx2 import Response
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.customer import Customer
from tests.web.bench import Bench

SignedInAs = Callable[[str], TestClient]
LISTS = "counter shelf wanted sizes holds price-list bench cutters instruments pilots fixtures"


def table(answer: Response) -> list[dict[str, str]]:
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert answer.content.startswith(b"\xef\xbb\xbf")
    return list(csv.DictReader(StringIO(answer.content.decode("utf-8-sig"))))


@pytest.mark.parametrize("stage", ["bored"])
def test_every_list_is_a_file(bench: Bench, signed_in_as: SignedInAs) -> None:
    writer = signed_in_as("service_writer")
    rows = {key: table(writer.get(f"/lists/{key}/csv")) for key in LISTS.split()}
    assert bench.job.number in {row["Job"] for row in rows["counter"]}
    assert bench.job.number in {row["Job"] for row in rows["bench"]}
    inches, mm = (float(rows["pilots"][0][f"Shank ({unit})"]) for unit in ("in", "mm"))
    assert abs(inches * 25.4 - mm) < 0.002
    assert rows["cutters"]


def test_a_search_is_a_file_with_its_filters(bench: Bench, signed_in_as: SignedInAs) -> None:
    writer = signed_in_as("service_writer")
    assert [row["Job"] for row in table(writer.get("/lists/find/csv?state=open"))] == [
        bench.job.number
    ]
    assert table(writer.get("/lists/find/csv?state=ended")) == []
    refused = writer.get("/lists/find/csv?since=soon")
    assert refused.status_code == 422
    assert "Taken in from is not a date" in refused.text
    assert 'href="/lists/find/csv?state=open"' in writer.get("/find?state=open").text


def test_customers_leave_by_the_owner_alone_and_as_no_formulas(
    bench: Bench, database: Database, signed_in_as: SignedInAs
) -> None:
    with database.write() as session:
        one = session.exec(select(Customer)).first()
        assert one is not None
        one.name, one.phone = '=HYPERLINK("x")', "+43 555 0134"
        session.add(one)
    assert signed_in_as("service_writer").get("/lists/customers/csv").status_code == 403
    (row,) = table(signed_in_as("owner").get("/lists/customers/csv"))
    assert (row["Name"], row["Phone"]) == ('\'=HYPERLINK("x")', "'+43 555 0134")
