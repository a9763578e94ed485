"""Guides: serviced or left, replaced after measuring, and what a pilot says of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from app.forms.base import Form
from app.workflow.words import GuideDecision

QUICK = {"all_left": GuideDecision.LEFT, "all_serviced": GuideDecision.SERVICED}
READ_BEFORE = ("hold", "again")


class GuidesForm(Form):
    """What was decided, position by position or for all in one touch.

    `read_before` answers what became of bores that were read before a guide was said to be
    serviced: "hold" when they were read on the guide as it is now, "again" when they are over.
    """

    names: ClassVar[Mapping[str, str]] = {"what": "What was done"}

    decisions: dict[int, GuideDecision]
    what: str
    read_before: str

    def __init__(self, raw: Mapping[str, str], port_ids: Sequence[int]) -> None:
        self.of = port_ids
        super().__init__(raw)

    def parse(self) -> None:
        self.decisions = {}
        quick = QUICK.get(self.raw.get("quick", ""))
        for port_id in self.of:
            said = quick or self.choice(f"guide_{port_id}", GuideDecision)
            if said is not None:
                self.decisions[port_id] = said
        self.what = self.text("what", most=120)
        answer = self.raw.get("read_before", "")
        self.read_before = answer if answer in READ_BEFORE else ""


class ReplacedForm(Form):
    """Guides that were replaced after they had been decided and measured."""

    names: ClassVar[Mapping[str, str]] = {"what": "What was done", "port": "Guides"}

    port_ids: list[int]
    what: str

    def __init__(self, raw: Mapping[str, str], ports: Sequence[str] = ()) -> None:
        self.port_ids = [int(one) for one in ports if one.isascii() and one.isdigit()][:200]
        super().__init__(raw)

    def parse(self) -> None:
        if not self.port_ids:
            self.wrong("port", "Tick the guides that were replaced.")
        self.what = self.text(
            "what", required="Say what was done: a new guide, a liner …", most=120
        )


class PilotFitForm(Form):
    """A pilot that was tried in guides, and fits."""

    names: ClassVar[Mapping[str, str]] = {"pilot": "Pilot", "port": "Guides"}

    pilot_id: int | None
    port_ids: list[int]

    def __init__(self, raw: Mapping[str, str], ports: Sequence[str] = ()) -> None:
        self.port_ids = [int(one) for one in ports if one.isascii() and one.isdigit()][:200]
        super().__init__(raw)

    def parse(self) -> None:
        self.pilot_id = self.whole("pilot", required="Choose the pilot.", least=1)
        if not self.port_ids:
            self.wrong("port", "Tick the guides that it fits.")
