"""What a set's rings are for, by their positions, against what they are made of."""

from __future__ import annotations

from collections.abc import Sequence

from app.workflow.ring_duty import DutyQuestion, duty_of, duty_questions
from app.worksheets.ring_sets import SetWorking
from app.worksheets.targets import PortTarget


def questions_of(working: SetWorking, targets: Sequence[PortTarget]) -> tuple[DutyQuestion, ...]:
    """What to ask of a set's material, once for all heads and positions that it is for."""
    material = working.material
    # What was typed and is in no table is known to somebody: it is not asked for again.
    if working.ring_set.material and not material.is_own and material.family == "unknown":
        return ()
    found: dict[str, DutyQuestion] = {}
    for head in {target.head.id: target.head for target in targets}.values():
        kinds = {target.rows.port.kind for target in targets if target.head.id == head.id}
        for one in duty_questions(
            material.family, material.name, duty_of(head.material, kinds, head.fuel)
        ):
            found.setdefault(one.key, one)
    return tuple(found.values())
