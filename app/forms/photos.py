"""A picture: at which step, of what, and a line about it."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import LARGEST_WHOLE, Form
from app.workflow.kinds import PhotoOf


class PhotoForm(Form):
    """What comes beside the file."""

    names: ClassVar[dict[str, str]] = {
        "picture": "Picture",
        "photo_of": "At which step",
        "about": "What it shows",
        "caption": "In a few words",
    }

    photo_of: PhotoOf
    caption: str
    head_id: int | None
    port_id: int | None
    hold_id: int | None

    def parse(self) -> None:
        self.photo_of = self.choice("photo_of", PhotoOf) or PhotoOf.INTAKE
        self.caption = self.text("caption")
        self.head_id = self.port_id = self.hold_id = None
        about, _, number = self.text("about", most=20).partition("-")
        if not about:
            return
        is_id = number.isascii() and number.isdigit() and len(number) <= 10
        is_id = is_id and 1 <= int(number) <= LARGEST_WHOLE
        if about not in ("head", "port", "hold") or not is_id:
            self.wrong("about", "is not one of the choices; choose again")
        else:
            setattr(self, f"{about}_id", int(number))


class StrikePhotoForm(Form):
    """Why a picture is not shown any more."""

    names: ClassVar[dict[str, str]] = {"reason": "Why"}

    reason: str

    def parse(self) -> None:
        self.reason = self.text("reason", required="Say why it is taken off")
