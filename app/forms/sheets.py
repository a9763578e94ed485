"""Which sheet is to be issued."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import Form
from app.workflow.kinds import SheetKind


class IssueForm(Form):
    """A kind of sheet, of one head or of the whole job; and why, where it was issued before."""

    names: ClassVar = {"because": "Why it is issued again"}
    kind: SheetKind | None
    head_id: int | None
    because: str

    def parse(self) -> None:
        # A button each for kind and head: whatever is wrong with them is about the whole.
        kind = self.raw.get("kind", "")
        self.kind = SheetKind(kind) if kind in list(SheetKind) else None
        if self.kind is None:
            self.wrong("form", "Choose what is to be issued.")
        self.head_id = self.whole("head", least=1) if self.raw.get("head") else None
        self.because = self.text("because", most=200).rstrip(".")
