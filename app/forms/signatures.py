"""Signing positions together, and handing a job over."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from app.forms.base import LARGEST_WHOLE, Form


class SignForm(Form):
    """The positions that one signature is for."""

    port_ids: list[int]

    def __init__(self, raw: Mapping[str, str], chosen: Sequence[str]) -> None:
        self.port_ids = [
            int(one)
            for one in chosen
            if one.isascii() and one.isdigit() and len(one) < 11 and int(one) <= LARGEST_WHOLE
        ]
        super().__init__(raw)

    def parse(self) -> None:
        if not self.port_ids:
            self.wrong("form", "Tick the positions to sign; nothing was signed.")


class HandOverForm(Form):
    """Who took it away."""

    names: ClassVar[Mapping[str, str]] = {"collected_by": "Collected by"}
    collected_by: str

    def parse(self) -> None:
        self.collected_by = self.text("collected_by", required="Say who collects it.", most=80)
