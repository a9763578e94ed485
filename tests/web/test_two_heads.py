"""On a job with two heads a bench page says in its heading which head it is about."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from tests.web.bench import Bench
from tests.web.pages import Walk


def addresses(bench: Bench, heads: str) -> dict[str, str]:
    """The pages of 2E on the last head of a new job, and of all its rings."""
    hands = bench.hands.by(bench.cast.service_writer)
    job = hands.take_in(customer="Larch Mill", wanted="burnt exhaust seats", heads=heads)
    head = hands.heads(job)[-1]
    hands.describe(head, casting="LM 9", material="grey_iron", layout="EIIEEIIE", valves="2")
    hands.decide(head, {"2E": "ring", "*": "leave"}, {"*": "casting"})
    port = hands.ports(head)["2E"].id
    return {
        "hold": f"/positions/{port}/hold",
        "ring in": f"/positions/{port}/ring-in",
        "rings in": f"/heads/{head.id}/rings-in",
    }


@pytest.mark.parametrize(
    ("heads", "page", "heading"),
    [
        ("both", "hold", "Stop right 2E"),
        ("both", "ring in", "right 2E: ring in"),
        ("both", "rings in", "Rings in, right"),
        ("one", "hold", "Stop 2E"),
        ("one", "ring in", "2E: ring in"),
        ("one", "rings in", "Rings in"),
    ],
)
def test_the_heading_names_the_head_where_there_are_two(
    bench: Bench,
    signed_in_as: Callable[[str], TestClient],
    heads: str,
    page: str,
    heading: str,
) -> None:
    marek = Walk(signed_in_as("Marek"), "Marek").get(addresses(bench, heads)[page])
    assert marek.heading == heading
