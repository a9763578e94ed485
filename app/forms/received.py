"""What came with a job, counted in or out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from app.forms.base import Form
from app.workflow.parts import NOTHING

# Asked by name, because these are what goes missing; anything else is typed.
USUAL_PARTS = (
    "valves",
    "springs",
    "retainers",
    "keepers",
    "cam caps",
    "camshafts",
    "rockers",
    "shims",
    "injectors",
    "plugs",
    "studs",
)
OTHER_LINES = 2  # shown empty, beside those that came
MOST_OTHERS = 24
MOST_PIECES = 999


@dataclass(frozen=True, slots=True)
class Counted:
    """So many of one thing."""

    what: str
    pieces: int


class ReceivedForm(Form):
    """Counts by part; `nothing` says that the head came bare."""

    is_out: bool
    counts: tuple[Counted, ...]
    note: str
    names: ClassVar[dict[str, str]] = {
        "nothing": "Nothing came",
        "note": "Note",
        **{f"pieces_{nth}": f"Count of {part}" for nth, part in enumerate(USUAL_PARTS)},
        **{f"other_{nth}": "Other part" for nth in range(MOST_OTHERS)},
        **{f"other_pieces_{nth}": "Other count" for nth in range(MOST_OTHERS)},
    }

    def parse(self) -> None:
        self.is_out = self.raw.get("way", "") == "out"
        self.note = self.text("note")
        counts = [self._usual(nth, part) for nth, part in enumerate(USUAL_PARTS)]
        counts += [self._other(nth) for nth in range(MOST_OTHERS)]
        found = tuple(counted for counted in counts if counted is not None)
        if self.yes("nothing"):
            if found:
                self.wrong("nothing", "Parts are counted above; either nothing came, or these")
            found = (Counted(NOTHING, 0),)
        elif not found and not self.errors:
            nothing = "" if self.is_out else ", or say that nothing came with it"
            self.wrong("form", f"Count at least one part{nothing}")
        whats = [counted.what.casefold() for counted in found]
        for nth in range(MOST_OTHERS):
            typed = self.raw.get(f"other_{nth}", "").strip().casefold()
            if typed and whats.count(typed) > 1:
                self.wrong(f"other_{nth}", "is counted twice; once is enough")
        self.counts = found

    def _usual(self, nth: int, part: str) -> Counted | None:
        pieces = self.whole(f"pieces_{nth}", most=MOST_PIECES)
        return None if pieces is None else Counted(part, pieces)

    def _other(self, nth: int) -> Counted | None:
        what = self.text(f"other_{nth}", most=120)
        pieces = self.whole(f"other_pieces_{nth}", most=MOST_PIECES)
        # On the way out what came stands there already; without a count it stays uncounted.
        if what and pieces is None and not self.is_out:
            self.wrong(f"other_pieces_{nth}", f"How many {what[:40]}?")
        if pieces is not None and not what:
            self.wrong(f"other_{nth}", "What was counted here?")
        return Counted(what, pieces) if what and pieces is not None else None
