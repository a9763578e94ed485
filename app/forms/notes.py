"""A note or a call."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import LARGEST_WHOLE, Form
from app.workflow.kinds import NoteKind


class NoteForm(Form):
    """What was said or seen, and about which head or position."""

    names: ClassVar[dict[str, str]] = {
        "kind": "Kind",
        "text": "Note",
        "about": "What it is about",
        "for": "For whom",
    }

    kind: NoteKind
    words: str
    head_id: int | None
    port_id: int | None
    for_id: int | None  # a colleague; None: whoever goes on

    def parse(self) -> None:
        self.kind = self.choice("kind", NoteKind) or NoteKind.NOTE
        self.words = self.text("text", required="Write the note", most=2000, lines=True)
        self.head_id = self.port_id = None
        self.for_id = self.whole("for", least=1) if self.raw.get("for") else None
        if self.for_id is not None and self.kind is not NoteKind.HAND_ON:
            self.wrong("for", "Only a note that is handed on is for one colleague; choose its kind")
        about, _, number = self.text("about", most=20).partition("-")
        if not about:
            return
        is_id = number.isascii() and number.isdigit() and len(number) <= 10
        if about not in ("head", "port") or not is_id or not 1 <= int(number) <= LARGEST_WHOLE:
            self.wrong("about", "is not one of the choices; choose again")
        elif about == "head":
            self.head_id = int(number)
        else:
            self.port_id = int(number)
