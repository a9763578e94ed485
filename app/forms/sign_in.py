"""A PIN typed to sign in, alone or with a form that waited for it."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import Form

# Fields of a form that came after its sign-in had ended: "kept.0.note", "kept.1.note" …
KEPT = "kept."
KEPT_FOR = "kept_for"


class PinForm(Form):
    """The PIN of whoever was chosen."""

    names: ClassVar[dict[str, str]] = {"pin": "PIN", "person": "Name"}

    pin: str

    def parse(self) -> None:
        # Nothing about its digits: that would tell which PINs cannot be.
        self.pin = self.raw.pop("pin", "").strip()
        if not self.pin or len(self.pin) > 40:
            self.wrong("pin", "Type your PIN.")


class ResumeForm(PinForm):
    """A name, a PIN, and what was typed before the sign-in ended."""

    person_id: int | None

    def parse(self) -> None:
        super().parse()
        self.person_id = self.whole("person", required="Touch your name.", least=1)

    @property
    def action(self) -> str:
        """Where the kept form was going."""
        return self.raw.get(KEPT_FOR, "")

    @property
    def kept(self) -> list[tuple[str, str]]:
        """The kept fields as they were, in order, repeated names included."""
        found = []
        for name, value in self.raw.items():
            if name.startswith(KEPT):
                nth, _, own = name.removeprefix(KEPT).partition(".")
                if nth.isascii() and nth.isdigit():
                    found.append((int(nth), own, value))
        return [(own, value) for _, own, value in sorted(found)]

    @property
    def shown(self) -> list[tuple[str, str]]:
        """What of it a person typed, to be seen again."""
        return [(name, value) for name, value in self.kept if value and name != "client_key"]
