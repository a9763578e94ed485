"""Signing positions together, and handing a job over."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from app.forms.base import Form, row_ids
from app.workflow.words import Outcome


class SignForm(Form):
    """The positions that one signature is for."""

    port_ids: list[int]

    def __init__(self, raw: Mapping[str, str], chosen: Sequence[str]) -> None:
        self.port_ids = row_ids(chosen)
        super().__init__(raw)

    def parse(self) -> None:
        if not self.port_ids:
            self.wrong("form", "Tick the positions to sign; nothing was signed.")


class HandOverForm(Form):
    """The last looks before it leaves, and who takes it away."""

    names: ClassVar[Mapping[str, str]] = {
        "clean": "Final clean",
        "clean_because": "Why not",
        "parts_because": "What became of the parts that differ",
        "collected_by": "Collected by",
    }

    clean: Outcome | None
    clean_because: str
    parts_because: str
    collected_by: str

    def parse(self) -> None:
        self.clean = self.choice("clean", Outcome)
        self.clean_because = self.text("clean_because", most=200)
        if self.clean is Outcome.NOT_OK:
            self.wrong("clean", "is not one of the choices; choose again")
        if self.clean is Outcome.NOT_DONE and not self.clean_because:
            self.wrong("clean_because", "Write why it was not cleaned")
        self.parts_because = self.text("parts_because", most=300)
        self.collected_by = self.text("collected_by", required="Say who collects it.", most=80)
