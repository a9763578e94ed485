"""A head with all its work done: bored, rings in, seats finished, tested, signed."""

from __future__ import annotations

from app.workflow.words import InspectionKind, Outcome
from tests.services.floor import Floor


def finish_head(floor: Floor, *, is_signed: bool = True) -> None:
    """Everything up to the signature; parts counted, so that the head may be handed over."""
    hands, ports = floor.hands, floor.ports
    floor.ringed()
    worked_on = [label for label in ports if label != "4E"]
    hands.finish(floor.head, {label: [".060", ".001", "1.852"] for label in worked_on})
    hands.inspect(
        floor.head, InspectionKind.PRESSURE_AFTER, Outcome.OK, method="40 psi in warm water"
    )
    if is_signed:
        hands.sign(floor.job, [ports[label] for label in worked_on])
    hands.count(floor.job)
    hands.count(floor.job, way="out")
