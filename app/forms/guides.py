"""Guides: what becomes of each, replaced after measuring, and what a pilot says of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from app.forms.base import Form, row_ids
from app.workflow.guide_outcomes import ASKED, GuideOutcome
from app.workflow.words import GuideHow

QUICK = {"all_left": GuideOutcome.LEFT, "all_new": GuideOutcome.REPLACED}
READ_BEFORE = ("hold", "again")
DONE = tuple((each.how, each.screen) for each in ASKED if each.how is not None)


class GuidesForm(Form):
    """What was decided, position by position, and in one touch for all that nothing is said of.

    `read_before` answers what became of what was read before a guide was said to be serviced:
    "hold" when it was read on the guide as it is now, "again" when it is over.
    """

    names: ClassVar[Mapping[str, str]] = {"what": "What and why"}

    decisions: dict[int, GuideOutcome]
    what: str
    read_before: str

    def __init__(self, raw: Mapping[str, str], port_ids: Sequence[int]) -> None:
        self.of = port_ids
        super().__init__(raw)

    def parse(self) -> None:
        self.decisions = {}
        quick = QUICK.get(self.raw.get("quick", ""))
        for port_id in self.of:
            said = self.choice(f"guide_{port_id}", GuideOutcome) or quick
            if said is not None:
                self.decisions[port_id] = said
        self.what = self.text("what", most=120)
        answer = self.raw.get("read_before", "")
        self.read_before = answer if answer in READ_BEFORE else ""


class ReplacedForm(Form):
    """Guides that were serviced after they had been decided and measured, and how."""

    names: ClassVar[Mapping[str, str]] = {
        "how": "What was done",
        "what": "In a few words",
        "port": "Guides",
    }

    port_ids: list[int]
    how: GuideHow | None
    what: str

    def __init__(self, raw: Mapping[str, str], ports: Sequence[str] = ()) -> None:
        self.port_ids = row_ids(ports)
        super().__init__(raw)

    def parse(self) -> None:
        if not self.port_ids:
            self.wrong("port", "Tick the guides that this was done to.")
        self.how = self.choice("how", GuideHow, required="Say what was done to them.")
        self.what = self.text("what", most=120)


class PilotFitForm(Form):
    """A pilot that was tried in guides, and fits."""

    names: ClassVar[Mapping[str, str]] = {"pilot": "Pilot", "port": "Guides"}

    pilot_id: int | None
    port_ids: list[int]

    def __init__(self, raw: Mapping[str, str], ports: Sequence[str] = ()) -> None:
        self.port_ids = row_ids(ports)
        super().__init__(raw)

    def parse(self) -> None:
        self.pilot_id = self.whole("pilot", required="Choose the pilot.", least=1)
        if not self.port_ids:
            self.wrong("port", "Tick the guides that it fits.")
