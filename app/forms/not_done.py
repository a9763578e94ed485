"""An open point is closed by a reason."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from app.forms.base import Form, row_ids
from app.workflow.gates import accepts_reason


class NotDoneForm(Form):
    """Not done, because …: for the whole head, or for the positions that were ticked."""

    names: ClassVar[Mapping[str, str]] = {"because": "Because", "key": "What was not done"}

    keys: list[str]
    port_ids: list[int]
    because: str

    def __init__(
        self, raw: Mapping[str, str], keys: Sequence[str] = (), ports: Sequence[str] = ()
    ) -> None:
        self.keys = [key for key in dict.fromkeys(keys) if accepts_reason(key)]
        self.unknown = len(set(keys)) - len(self.keys)
        self.port_ids = row_ids(ports)
        super().__init__(raw)

    def parse(self) -> None:
        if self.unknown:
            self.wrong("key", "a reason does not close this; it is asked for itself")
        elif not self.keys:
            self.wrong("key", "Say what was not done.")
        self.because = self.text(
            "because", required="Say why: no tester here, the customer declined …", most=400
        )
