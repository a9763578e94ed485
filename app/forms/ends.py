"""Other ends of a job than the hand-over."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import Form
from app.workflow.words import Ended

OTHER_ENDS = tuple(end for end in Ended if end is not Ended.HANDED_OVER)


class EndForm(Form):
    """How the job ends, why, and who took the heads along."""

    names: ClassVar[dict[str, str]] = {
        "ended_as": "How it ends",
        "note": "Reason",
        "collected_by": "Collected by",
        "confirm_notice": "Without the notice",
    }

    ended_as: Ended
    note: str
    collected_by: str

    def parse(self) -> None:
        chosen = self.choice("ended_as", Ended, required="Choose how the job ends")
        if chosen is Ended.HANDED_OVER:
            self.wrong("ended_as", "A finished job is handed over on its own page")
        self.ended_as = chosen or Ended.CANCELLED
        self.note = self.text("note", required="Write why, in a few words", most=400)
        self.collected_by = self.text("collected_by", most=120)


class VoidForm(Form):
    """Why a job should never have been opened."""

    names: ClassVar[dict[str, str]] = {
        "because": "Reason",
    }

    because: str

    def parse(self) -> None:
        self.because = self.text("because", required="Write why it was opened by mistake", most=400)
