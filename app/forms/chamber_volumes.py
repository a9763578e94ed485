"""Chamber volumes of a head: one figure for each cylinder."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from app.forms.earlier import EarlierFields

MOST_CM3 = 2000.0
# Chambers of one head do not differ by half: a point slipped, or the wrong one was read.
ODD_RATIO = 1.5


class ChamberVolumesForm(EarlierFields):
    """`cylinders` are their labels in order; a field's name counts them."""

    cylinders: Sequence[str]
    names: ClassVar[dict[str, str]] = EarlierFields.EARLIER | {
        "had": "Chamber volumes",
        "method": "How",
        "because": "Not done, because",
        "confirm_odd": "Is it so?",
    }
    method: str
    because: str
    volumes: dict[str, str]  # as typed, with a point
    had_id: int | None

    def __init__(self, raw: dict[str, str], *, cylinders: Sequence[str]) -> None:
        super().__init__(raw, cylinders=cylinders)

    def parse(self) -> None:
        self.volumes = {}
        self.method = self.text("method", most=80)
        self.because = self.text("because", most=200)
        self.had_id = self.whole("had")
        for nth, cylinder in enumerate(self.cylinders):
            name = f"volume_{nth}"
            found = self.number(name, least=0, most=MOST_CM3, unit="cm³")
            if found == 0:
                self.wrong(name, "must be above 0")
            elif found is not None:
                self.volumes[cylinder] = self.raw[name].strip().replace(",", ".")
        if self.volumes and self.because:
            self.wrong("because", "Either volumes, or why there are none.")
        elif not self.volumes and not self.because and not self.errors:
            self.wrong("form", "No volume is typed yet, nor why there is none; nothing was stored.")
        elif len(self.volumes) == 1 and not self.errors:
            self.wrong("form", "One chamber has nothing to be held against: read another.")
        self._ask_odd()
        self.parse_earlier()
        self.need_all()

    def _ask_odd(self) -> None:
        """One far from the others is asked about once."""
        sizes = {name: float(text) for name, text in self.volumes.items()}
        if self.errors or len(sizes) < 2 or self.confirmed("odd"):
            return
        low, high = min(sizes, key=sizes.__getitem__), max(sizes, key=sizes.__getitem__)
        if sizes[high] > ODD_RATIO * sizes[low]:
            self.wrong(
                "confirm_odd",
                f"Cylinder {high} holds {self.volumes[high]} cm³ and cylinder {low} "
                f"{self.volumes[low]} cm³: more than half as much again. Is it so?",
            )
