"""A job as one document: whole, with its chain, and with nothing that proves a person."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime
from typing import Any

import pytest
from sqlmodel import col, func, select
from starlette.testclient import TestClient

from app.calc.trace import sha256
from app.db import Database, metadata
from app.models.event import Event
from app.models.reading import Reading, ReadingStrike
from app.queries.job_documents import JOB_BRANCHES, RESULTS, RING_SETS, TOOLS, Branch
from app.services.write import event_hash
from tests.web.bench import Bench

SignedInAs = Callable[[str], TestClient]
RINGED = pytest.mark.parametrize("stage", ["ringed"])

# Of the shop, not of one job; found by others; or nobody's business outside.
NOT_OF_A_JOB = {
    *("shop", "number_series", "shop_rule", "interference_rule", "heat_case", "shop_material"),
    *("price_item", "ring_size", "instrument_check", "person", "sign_in", "pin_try"),
    *("search_key", "job_words", "api_key"),
}


def every(found: Any, key: str) -> list[dict[str, Any]]:
    """Every object under a key, at any depth."""
    if isinstance(found, list):
        return [one for each in found for one in every(each, key)]
    if not isinstance(found, dict):
        return []
    here = found[key] if isinstance(found.get(key), list) else []
    return here + [one for each in found.values() for one in every(each, key)]


@RINGED
def test_a_job_is_one_document_with_its_readings_and_its_chain(
    bench: Bench, database: Database, signed_in_as: SignedInAs
) -> None:
    number = bench.job.number
    answer = signed_in_as("owner").get(f"/jobs/{number}/document")
    assert f'filename="job-{number}.json"' in answer.headers["content-disposition"]
    document = json.loads(answer.content)
    assert (document["schema"], document["schema_version"]) == ("seatwright-job", 1)
    assert document["customer"]["name"]
    readings = {
        one["id"]: one for group in every(document, "reading_sets") for one in group["readings"]
    }
    with database.read() as session:
        kept = session.exec(select(func.count(col(Reading.id)))).one()
        strikes = session.exec(select(func.count(col(ReadingStrike.id)))).one()
        about = select(Event.hash).where(Event.job_id == bench.job.id)
        hashes = session.exec(about.order_by(col(Event.id))).all()
    # What instruments were checked with is the shop's, and nothing else is missing.
    assert len(readings) == kept
    assert sum(len(one["strike"]) for one in readings.values()) == strikes
    first = next(iter(readings.values()))
    assert first["typed_by"] == "Marek"
    assert set(first["value"]) == {"nm", "in", "mm"}
    assert round(float(first["value"]["in"]) * 25.4, 3) == round(first["value"]["nm"] / 10**6, 3)
    for result in document["results"]:
        assert sha256(result["record_text"]) == result["sha256"]
    for told in document["events"]:
        told["at"] = datetime.fromisoformat(told["at"])
        assert event_hash(Event(**{k: v for k, v in told.items() if k != "by"})) == told["hash"]
    assert [told["hash"] for told in document["events"]] == hashes
    assert {one["name"] for one in document["tools"]["cutter"]}
    assert "pin_hash" not in answer.text
    assert "client_key" not in answer.text


@RINGED
def test_only_who_may_export_is_led_to_it(bench: Bench, signed_in_as: SignedInAs) -> None:
    number = bench.job.number
    link = f'href="/jobs/{number}/document"'
    assert link in signed_in_as("owner").get(f"/jobs/{number}/history").text
    assert link not in signed_in_as("machinist").get(f"/jobs/{number}/history").text


def test_every_table_of_a_job_stands_in_its_document() -> None:

    def tables(branches: tuple[Branch, ...]) -> set[str]:
        return {table for each in branches for table in (each.table, *tables(each.branches))}

    told = tables((*JOB_BRANCHES, RING_SETS, *RESULTS)) | {"job", "customer", "event", "result"}
    assert told | set(TOOLS) | NOT_OF_A_JOB == set(metadata.tables)
