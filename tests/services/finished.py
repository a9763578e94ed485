"""A head with all its work done: bored, rings in, seats finished, tested, signed."""

from __future__ import annotations

from app.workflow.words import InspectionKind, Outcome
from tests.services.floor import Floor


def bore_to_size(floor: Floor, last: str = "1.6222") -> None:
    """First pass, correction, 2E to size and 3E to `last`; both judged."""
    setting = floor.set_up()
    floor.hands.clamp(floor.head, floor.machine.id)
    floor.bore("2E", setting, "1.6205")
    floor.hands.correct(setting, "1.6205", 0)
    floor.hands.set_to(setting)
    for label, size in (("2E", "1.6222"), ("3E", last)):
        floor.bore(label, setting, size)
        floor.hands.prove(floor.ports[label])


def finish_head(floor: Floor, *, is_signed: bool = True) -> None:
    """Everything up to the signature; parts counted, so that the head may be handed over."""
    hands, ports = floor.hands, floor.ports
    ring_set = floor.read_rings()
    bore_to_size(floor)
    for label, ring in zip(("2E", "3E"), hands.rings_of(ring_set), strict=True):
        hands.press(ports[label], ring)
    worked_on = [label for label in ports if label != "4E"]
    hands.finish(floor.head, {label: [".060", ".001", "1.852"] for label in worked_on})
    hands.inspect(
        floor.head, InspectionKind.PRESSURE_AFTER, Outcome.OK, method="40 psi in warm water"
    )
    if is_signed:
        hands.sign(floor.job, [ports[label] for label in worked_on])
    hands.count(floor.job)
    hands.count(floor.job, way="out")
