"""How the old rings of a head came out, in one run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from app.forms.base import Form
from app.workflow.kinds import OldFloor, RingOutWay


@dataclass(frozen=True, slots=True)
class CameOut:
    """What the page says of one position."""

    way: RingOutWay
    floor: OldFloor
    note: str


class RingsOutForm(Form):
    """Every position that had a ring; `ids` maps their ids to their labels."""

    ids: Mapping[int, str]
    names: ClassVar[dict[str, str]] = {"all_way": "All of them", "all_floor": "All floors"}
    said: dict[int, CameOut]

    def __init__(self, raw: Mapping[str, str], *, ids: Mapping[int, str]) -> None:
        super().__init__(raw, ids=ids)

    def parse(self) -> None:
        self.said = {}
        all_way = self.choice("all_way", RingOutWay)
        all_floor = self.choice("all_floor", OldFloor)
        for port_id, label in self.ids.items():
            way = self.choice(f"way_{port_id}", RingOutWay) or all_way
            floor = self.choice(f"floor_{port_id}", OldFloor) or all_floor
            note = self.text(f"note_{port_id}")
            if way is None and floor is None and not note:
                continue
            if way is None:
                self.wrong(f"way_{port_id}", f"say how the ring of {label} came out")
            elif floor is None:
                self.wrong(f"floor_{port_id}", f"say what became of the floor of {label}")
            elif way is RingOutWay.OTHER and not note:
                self.wrong(f"note_{port_id}", f"say in a few words how {label} came out")
            else:
                self.said[port_id] = CameOut(way, floor, note)
        if not self.said and not self.errors:
            self.wrong("form", "Nothing is said of any position yet; nothing was stored.")
