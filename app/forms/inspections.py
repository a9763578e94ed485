"""Inspections of a head: several outcomes in one form."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from app.calc.quantities import HARDNESS
from app.forms.earlier import EarlierFields
from app.workflow.inspected import SPOTS, odd_hardness
from app.workflow.words import InspectionKind, InspectionWay, Outcome


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
    figures: Mapping[str, str] = field(default_factory=dict)  # by place, as typed


@dataclass(frozen=True, slots=True)
class Decided:
    """How the head goes on; `had_id` is the decision that the page showed."""

    way: InspectionWay
    because: str
    had_id: int | None


class InspectionsForm(EarlierFields):
    """Those with an outcome; the others were not inspected yet and stay open."""

    said: list[Inspected]
    decided: Decided | None
    is_odd: bool = False

    def __init__(
        self,
        raw: Mapping[str, str],
        kinds: Sequence[InspectionKind],
        measured: Collection[InspectionKind] = (),
    ) -> None:
        self.kinds = kinds
        # Their figures stand on a page of their own, and say already what was found.
        self.measured = measured
        super().__init__(raw)

    @classmethod
    def names_of(cls, kinds: Sequence[InspectionKind]) -> dict[str, str]:
        """The fields as the page calls them."""
        return (
            cls.EARLIER
            | {
                f"{field}_{kind}": kind.screen.capitalize()
                for kind in kinds
                for field in ("outcome", "method", "found", "because")
            }
            | {
                **{f"hardness_{spot}": f"Hardness, spot {spot}" for spot in SPOTS},
                "way": "How the head goes on",
                "way_because": "Why",
            }
        )

    def parse(self) -> None:
        self.said = []
        for kind in self.kinds:
            outcome = self.choice(f"outcome_{kind}", Outcome)
            method = self.text(f"method_{kind}", most=80)
            found = self.text(f"found_{kind}", most=400)
            because = self.text(f"because_{kind}", most=400)
            had = self.whole(f"had_{kind}")
            figures = self._spots() if kind is InspectionKind.HARDNESS else {}
            if outcome is None:
                if (method or found or because or figures) and f"outcome_{kind}" not in self.errors:
                    self.wrong(f"outcome_{kind}", "Say how it ended: OK, not OK or not done.")
                continue
            if outcome is Outcome.NOT_DONE and not because:
                self.wrong(f"because_{kind}", "Not done, because …? Say why.")
            if outcome is Outcome.NOT_DONE and figures:
                self.wrong(
                    f"outcome_{kind}", "Figures are typed: say OK or not OK, or empty the figures."
                )
            is_told = found or figures or kind in self.measured
            if outcome is Outcome.NOT_OK and not is_told:
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
                    figures=figures,
                )
            )
        self._decide()
        self.parse_earlier()
        self.need_all()

    def _spots(self) -> dict[str, str]:
        """Hardness by spot, as typed; what no head has is refused, what is odd is asked about."""
        found: dict[str, str] = {}
        for spot in SPOTS:
            name = f"hardness_{spot}"
            number = self.number(name, least=HARDNESS.low, most=HARDNESS.high, unit=HARDNESS.unit)
            if number is None:
                continue
            found[spot] = self.raw[name].strip()
            # What is kept already was asked about when it was typed.
            if found[spot] == self.raw.get(f"had_{name}", ""):
                continue
            question = odd_hardness(number)
            if question:
                self.is_odd = True
                if not self.confirmed("odd"):
                    self.wrong(name, question)
        return found

    def _decide(self) -> None:
        way = self.choice("way", InspectionWay)
        because = self.text("way_because", most=400)
        had = self.whole("had_way")
        self.decided = None if way is None else Decided(way, because, had)
        if way is None and because and "way" not in self.errors:
            self.wrong("way", "Say how it goes on: go on, ask the customer or scrap the head.")
        if way is InspectionWay.ASK_CUSTOMER and not because:
            self.wrong("way_because", "What is the customer to be asked?")
        if way is InspectionWay.SCRAP and not because:
            self.wrong("way_because", "Why can this head not be used? It stands on the record.")
