"""Inspections of a head: several outcomes in one form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app.forms.earlier import EarlierFields
from app.workflow.words import InspectionKind, Outcome


@dataclass(frozen=True, slots=True)
class Inspected:
    """One inspection as it was said; `had_id` is the one that the page showed.

    `is_again`: what the page showed no longer counts, so the same outcome is a new one.
    """

    kind: InspectionKind
    outcome: Outcome
    method: str
    found: str
    because: str
    had_id: int | None
    is_again: bool = False


class InspectionsForm(EarlierFields):
    """Those with an outcome; the others were not inspected yet and stay open."""

    said: list[Inspected]

    def __init__(self, raw: Mapping[str, str], kinds: Sequence[InspectionKind]) -> None:
        self.kinds = kinds
        super().__init__(raw)

    @classmethod
    def names_of(cls, kinds: Sequence[InspectionKind]) -> dict[str, str]:
        """The fields as the page calls them."""
        return cls.EARLIER | {
            f"{field}_{kind}": kind.screen.capitalize()
            for kind in kinds
            for field in ("outcome", "method", "found", "because")
        }

    def parse(self) -> None:
        self.said = []
        for kind in self.kinds:
            outcome = self.choice(f"outcome_{kind}", Outcome)
            method = self.text(f"method_{kind}", most=80)
            found = self.text(f"found_{kind}", most=400)
            because = self.text(f"because_{kind}", most=400)
            had = self.whole(f"had_{kind}")
            if outcome is None:
                if (method or found or because) and f"outcome_{kind}" not in self.errors:
                    self.wrong(f"outcome_{kind}", "Say how it ended: OK, not OK or not done.")
                continue
            if outcome is Outcome.NOT_DONE and not because:
                self.wrong(f"because_{kind}", "Not done, because …? Say why.")
            if outcome is Outcome.NOT_OK and not found:
                self.wrong(f"found_{kind}", "Not OK: say what was found, and where.")
            self.said.append(
                Inspected(
                    kind,
                    outcome,
                    method,
                    found,
                    because if outcome is Outcome.NOT_DONE else "",
                    had,
                    is_again=self.yes(f"again_{kind}"),
                )
            )
        self.parse_earlier()
        self.need_all()
