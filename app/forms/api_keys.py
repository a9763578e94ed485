"""A key for a program: what the program is called."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import Form


class ApiKeyForm(Form):
    """The program's name, by which its key is known again."""

    names: ClassVar[dict[str, str]] = {"name": "Which program"}

    def parse(self) -> None:
        self.name = self.text("name", required="Say which program it is for", most=60)
