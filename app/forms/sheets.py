"""Which sheet is to be issued."""

from __future__ import annotations

from app.forms.base import Form
from app.workflow.kinds import SheetKind


class IssueForm(Form):
    """A kind of sheet, of one head or of the whole job."""

    kind: SheetKind | None
    head_id: int | None

    def parse(self) -> None:
        # A button each, no fields: whatever is wrong is about the whole.
        kind = self.raw.get("kind", "")
        self.kind = SheetKind(kind) if kind in list(SheetKind) else None
        if self.kind is None:
            self.wrong("form", "Choose what is to be issued.")
        self.head_id = self.whole("head", least=1) if self.raw.get("head") else None
