"""A cut is left out of a tip's mean."""

from __future__ import annotations

from typing import ClassVar

from app.forms.base import Form
from app.workflow.overcut_advice import WhyLeftOut


class LeaveOutForm(Form):
    """Why one cut says nothing of the tip."""

    names: ClassVar[dict[str, str]] = {"why": "What was different", "words": "In words"}

    def parse(self) -> None:
        self.why = self.choice(
            "why", WhyLeftOut, required="Say what was different: without a reason the cut counts"
        )
        self.words = self.text("words", most=150)
        if self.why is WhyLeftOut.OTHER and not self.words:
            self.wrong("words", "Say it in words: it stands beside the cut from now on")

    @property
    def reason(self) -> str:
        """As it stands on the record."""
        assert self.why is not None
        if self.why is WhyLeftOut.OTHER:
            return self.words
        return f"{self.why.screen}: {self.words}" if self.words else self.why.screen
