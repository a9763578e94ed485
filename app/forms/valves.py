"""What becomes of the valves of a head: kept, refaced, new or missing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from app.forms.base import Form
from app.workflow.kinds import ValveState


class ValvesForm(Form):
    """What was said anew, position by position, or kept for all others in one touch.

    Each position sends what its page showed (`had_valve_…`): a choice that only says what the page
    showed is no new word, so a page left open overwrites nothing.
    """

    said: dict[int, ValveState]
    had: dict[int, ValveState | None]

    def __init__(self, raw: Mapping[str, str], port_ids: Sequence[int]) -> None:
        self.of = port_ids
        super().__init__(raw)

    def parse(self) -> None:
        self.said, self.had = {}, {}
        all_others = self.raw.get("quick", "") == "all_kept"
        for port_id in self.of:
            said = self.choice(f"valve_{port_id}", ValveState)
            had = self.choice(f"had_valve_{port_id}", ValveState)
            if said is None and all_others:
                said = ValveState.KEPT
            self.had[port_id] = had
            if said is not None and said is not had:
                self.said[port_id] = said
