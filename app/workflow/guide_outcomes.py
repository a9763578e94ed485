"""What becomes of a guide, in one word: left, or serviced and how."""

from __future__ import annotations

from app.workflow.kinds import Said
from app.workflow.words import GuideDecision, GuideHow


class GuideOutcome(Said):
    """One guide's outcome; a knurled one is never told as the equal of a new guide."""

    LEFT = "left", "left as it is"
    REPLACED = "replaced", "new guide"
    SLEEVED = "sleeved", "sleeved"
    REAMED = "reamed", "reamed for a larger stem"
    KNURLED = "knurled", "knurled, a stopgap"
    SERVICED = "serviced", "serviced"  # from before it was asked how

    @property
    def decision(self) -> GuideDecision:
        """What the gate asks for."""
        return GuideDecision.LEFT if self is GuideOutcome.LEFT else GuideDecision.SERVICED

    @property
    def how(self) -> GuideHow | None:
        """What was done; None for a guide that was left, or where nobody said."""
        if self in (GuideOutcome.LEFT, GuideOutcome.SERVICED):
            return None
        return GuideHow(self.value)

    @property
    def is_pressed_in(self) -> bool:
        """A part is pressed into the head, so that its grip counts."""
        return self in (GuideOutcome.REPLACED, GuideOutcome.SLEEVED)


ASKED = tuple(each for each in GuideOutcome if each is not GuideOutcome.SERVICED)


def outcome_of(decision: GuideDecision, how: GuideHow | None) -> GuideOutcome:
    """The outcome that a decision on record says."""
    if decision is GuideDecision.LEFT:
        return GuideOutcome.LEFT
    return GuideOutcome(how.value) if how else GuideOutcome.SERVICED
