"""People, their roles and their new PINs."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import Form
from app.workflow.sign_in import pin_fault
from app.workflow.words import Role


class NewPinForm(Form):
    """A PIN chosen twice; never shown again."""

    names: ClassVar[dict[str, str]] = {"pin": "New PIN", "pin_again": "The same PIN again"}

    pin: str

    def parse(self) -> None:
        self.pin = self.raw.pop("pin", "").strip()
        again = self.raw.pop("pin_again", "").strip()
        fault = pin_fault(self.pin)
        if fault:
            self.wrong("pin", fault)
        elif again != self.pin:
            self.wrong("pin_again", "The two PINs differ. Type both anew.")


class OwnPinForm(NewPinForm):
    """One's own PIN: the old one first."""

    names: ClassVar[dict[str, str]] = {**NewPinForm.names, "old_pin": "PIN you have now"}

    old: str

    def parse(self) -> None:
        super().parse()
        self.old = self.raw.pop("old_pin", "").strip()
        if not self.old or len(self.old) > 40:
            self.wrong("old_pin", "Type the PIN you have now.")


class PersonForm(Form):
    """Someone's name and role."""

    names: ClassVar[dict[str, str]] = {"name": "Name", "role": "Does"}

    name: str
    role: Role | None
    row_version: int | None

    def parse(self) -> None:
        self.name = self.text("name", required="What is the name?", most=60)
        self.role = self.choice("role", Role, required="Choose what they do here.")
        self.row_version = self.whole("row_version", least=1)


class NewPersonForm(PersonForm, NewPinForm):
    """Someone new, with a first PIN."""

    names: ClassVar[dict[str, str]] = {
        **PersonForm.names,
        **NewPinForm.names,
        "pin": "First PIN",
    }

    def parse(self) -> None:
        PersonForm.parse(self)
        NewPinForm.parse(self)
