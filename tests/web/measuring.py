"""A head that nothing was measured on yet, beside the one on the bench."""

from __future__ import annotations

from dataclasses import dataclass

from app.models.head import Head, Port
from app.models.job import Job
from tests.web.bench import Bench
from tests.web.pages import Walk


@dataclass(frozen=True)
class FreshHead:
    """An eight-valve iron head: 2E and 3E get a ring, 4E is left, the others are touched up."""

    bench: Bench
    job: Job
    head: Head
    ports: dict[str, Port]

    def at(self, page: str) -> str:
        """The address of one of its pages."""
        return f"/heads/{self.head.id}/{page}"

    def names(self, walk: Walk, quantity: str, *labels: str, place: str = "1") -> list[str]:
        """The fields of a quantity at these positions."""
        found = [f"{quantity}.port-{self.ports[label].id}.{place}" for label in labels]
        assert set(found) <= set(walk.names(quantity)), walk.names(quantity)
        return found


def fresh_head(bench: Bench, seat: str = "casting", **ring_seats: str) -> FreshHead:
    """Taken in, described and decided; `ring_seats` says what sits where a ring goes."""
    hands = bench.hands.by(bench.cast.service_writer)
    job = hands.take_in(customer="Larch Mill", wanted="two burnt exhaust seats")
    head = hands.heads(job)[0]
    hands.describe(head, casting="LM 9", material="grey_iron", layout="EIIEEIIE", valves="2")
    hands.decide(
        head,
        {"2E": "ring", "3E": "ring", "4E": "leave", "*": "seat_only"},
        {"*": seat, **ring_seats},
    )
    hands.by(bench.cast.machinist)
    return FreshHead(bench, job, hands.heads(job)[0], hands.ports(head))
