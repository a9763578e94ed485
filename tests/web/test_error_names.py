"""What is wrong is named as its field is labelled, so that the summary leads to it by name."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.head import Head
from tests.web.bench import Bench
from tests.web.test_jobs import take_in

SignedIn = Callable[[str], TestClient]


def named_and_labelled(page: str) -> list[tuple[str, str]]:
    """Each field of the summary as it is named there, and the label that stands at the field."""
    found = []
    for field, told in re.findall(r'<li><a href="#([^"]+)">(.*?)</a>', page):
        label = re.search(rf'<label for="{field}">(.*?)<', page)
        if label is None:  # answers to touch stand under one legend
            label = re.search(r".*<legend>(.*?)<", page.partition(f'id="{field}"')[0], re.S)
        assert label is not None, field
        found.append((unescape(told).partition(": ")[0], unescape(label[1]).strip()))
    return found


@pytest.mark.parametrize(
    ("address", "fields"),
    [
        ("/people", {"name": "", "pin": "471"}),
        ("/people/1/pin", {"pin": "8642", "pin_again": "1"}),
        ("/my-pin", {"pin": "471"}),
        ("/shop-rules/least_cut", {"value": "", "source": ""}),
        ("/shop-rules/warranty_text", {"value": "a\x07", "source": ""}),
        ("/jobs/new", {"heads": "other", "head_names": "", "promise": "other", "unit": "x"}),
        ("/jobs/{number}/consent", {"name": "", "limit": "much", "given_on": "2999-01-01"}),
        ("/jobs/{number}/price-lines", {"text": "", "amount": ""}),
        ("/jobs/{number}/waiting", {"waiting": "", "waiting_for": "x" * 500, "since": "soon"}),
        ("/jobs/{number}/promise", {"promised_on": "soon"}),
        ("/crib/machines", {"name": "", "travel": "far"}),
        ("/crib/cutters", {"name": "", "kind": "", "corner_radius": "x", "fixed_size": "x"}),
        ("/crib/pilots", {"unit": "", "guide_diameter": "x", "measured_on": "soon"}),
        ("/crib/fixtures", {"name": "", "unit": "", "mode": "", "division": ""}),
        ("/crib/instruments", {"kind": "", "unit": "", "division": "", "check_every_days": "x"}),
        ("/shelf", {"unit": "", "label_od": "x", "alpha_ppm": "x", "owner": "", "pieces": "no"}),
        ("/interference-rules", {"material": "", "od_from": "", "od_below": "x", "least": ""}),
        ("/heads/{head}/edit", {"numbered_from": "other", "numbered_from_other": ""}),
    ],
)
def test_an_error_is_named_as_its_field_is_labelled(
    signed_in_as: SignedIn, database: Database, address: str, fields: dict[str, str]
) -> None:
    odile = signed_in_as("owner")
    number = take_in(odile)
    with database.read() as session:
        head = session.exec(select(Head)).one()
    answer = odile.post(address.format(number=number, head=head.id), data=fields)
    assert answer.status_code == 422
    named = named_and_labelled(answer.text)
    assert named
    # A label may say more than the name: "Up to (EUR)".
    assert [each for each in named if not each[1].startswith(each[0])] == []


def test_signing_in_names_the_pin(signed_in_as: SignedIn, client: TestClient) -> None:
    signed_in_as("owner")
    answer = client.post("/sign-in/1", data={"pin": ""})
    assert named_and_labelled(answer.text) == [("PIN", "PIN")]


@pytest.mark.parametrize(
    ("address", "fields"),
    [
        ("/jobs/{number}/ring-sets", {"count": "", "label_od": "x", "alpha_ppm": "x"}),
        ("/ring-sets/{ring_set}/edit", {"label_inside": "x", "lead_chamfer": "1"}),
        ("/ring-sets/{ring_set}/window", {"least": "", "aim": "x", "most": "", "source": ""}),
        ("/positions/{port}/wanted-rings", {"od_from": "x", "height": "y", "inside": "z"}),
    ],
)
def test_an_error_of_seat_rings_is_named_as_its_field_is_labelled(
    signed_in_as: SignedIn, bench: Bench, address: str, fields: dict[str, str]
) -> None:
    ring_set = bench.hands.rings(bench.job, [bench.ports["2E"]], [[]])
    at = address.format(number=bench.job.number, ring_set=ring_set.id, port=bench.ports["3E"].id)
    answer = signed_in_as("owner").post(at, data=fields)
    assert answer.status_code == 422
    named = named_and_labelled(answer.text)
    assert len(named) >= len([value for value in fields.values() if value != "1"])
    assert [each for each in named if not each[1].startswith(each[0])] == []
