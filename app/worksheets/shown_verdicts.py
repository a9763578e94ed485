"""A verdict as pages show it: worked now while the bore is gauged, as frozen once it is proved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from app.calc.trace import Step
from app.calc.units import Length
from app.workflow.kinds import ResultKind, Verdict
from app.worksheets.errors_of_measurement import ErrorPart, most_of
from app.worksheets.facts import HeadSheet
from app.worksheets.head_rows import PortRows
from app.worksheets.verifications import Proof


@dataclass(frozen=True)
class ShownVerdict:
    """An interference with its possible error, where that comes from, and its working."""

    verdict: Verdict
    interference: Length
    uncertainty: Length
    close_to_edge: bool
    working: tuple[Step, ...]
    parts: tuple[ErrorPart, ...]  # largest first; a record from before they were kept has none
    stand_ins: tuple[str, ...]

    @property
    def most(self) -> str:
        """Where most of the possible error comes from."""
        return most_of(self.parts)


def live_verdict(proof: Proof | None) -> ShownVerdict | None:
    """By the readings and the instruments as they are now."""
    found = proof.verification if proof else None
    if proof is None or found is None or proof.error is None:
        return None
    return ShownVerdict(
        verdict=Verdict(found.verdict.value),
        interference=found.interference,
        uncertainty=found.uncertainty,
        close_to_edge=found.close_to_edge,
        working=found.working,
        parts=proof.error.parts,
        stand_ins=proof.error.stand_ins,
    )


def frozen_verdict(sheet: HeadSheet, rows: PortRows) -> ShownVerdict | None:
    """As it was accepted, whatever instruments and rules say by now; None once it fell."""
    accepted = sheet.rows.accepted.of_pass(
        rows.port_pass.id if rows.port_pass else None, ResultKind.VERIFICATION
    )
    if accepted is None or not accepted.stands:
        return None
    record = accepted.record
    inputs: dict[str, Any] = record["inputs"]
    return ShownVerdict(
        verdict=Verdict(record["verdict"]),
        interference=Length(record["interference"]["nm"]),
        uncertainty=Length(record["uncertainty"]["nm"]),
        close_to_edge=record["close_to_edge"],
        working=accepted.working,
        parts=tuple(_part(kept) for kept in inputs.get("error_parts", ())),
        stand_ins=tuple(inputs.get("stand_ins", ())),
    )


def _part(kept: dict[str, Any]) -> ErrorPart:
    plus_minus = Length(kept["plus_minus"]["nm"])
    return ErrorPart(kept["words"], plus_minus, kept["percent"], kept["source"])
