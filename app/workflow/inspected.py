"""What an inspection found, in words: conditional, against the shop's or the maker's figures.

Nothing here blocks anything: how the head goes on is decided by a person, with a reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.calc.flatness import Flatness
from app.calc.hardness import Hardness
from app.calc.units import Length
from app.workflow.doubtful import FLATNESS_ODD, HARDEST_HB, SOFTEST_HB
from app.workflow.fit_advice import BY_THESE_READINGS
from app.workflow.kinds import Unit
from app.workflow.seats import size_words
from app.workflow.words import InspectionKind, Material, Outcome, counted, listed

# Where a straight edge lies on a deck, seen from the end that numbering starts at.
LINES: tuple[tuple[str, str], ...] = (
    ("along-left", "along the left edge"),
    ("along-middle", "along the middle"),
    ("along-right", "along the right edge"),
    ("across-near", "across the near end"),
    ("across-middle", "across the middle"),
    ("across-far", "across the far end"),
    ("diagonal-left", "diagonal from near left"),
    ("diagonal-right", "diagonal from near right"),
)
_LINE_WORDS = dict(LINES)
WHOLE, PART = "", ".part"
SPOTS = ("1", "2", "3")


@dataclass(frozen=True, slots=True)
class FlatLimits:
    """What a deck may be out of flat: over its whole length, and within a part of it."""

    whole: Length
    part: Length | None
    part_over: Length | None
    source: str
    part_source: str
    is_makers: bool


def place_words(place: str) -> str:
    """Where a gap was read: ``along the left edge``, or the words that were typed."""
    return _LINE_WORDS.get(place, place)


def flat_words(found: Flatness, unit: Unit, over: str, source: str) -> str:
    """``widest .0035 in, along the middle: by these readings within .004 in …``."""
    where = listed([place_words(place) for place in found.places])
    start = f"widest {size_words(found.widest, unit)} {unit.value}, {where}"
    limit = f"{size_words(found.limit, unit)} {unit.value} {over} ({source})"
    if found.is_within:
        return f"{start}: {BY_THESE_READINGS} within {limit}"
    past = size_words(Length(-found.spare.nm), unit)
    return f"{start}: {BY_THESE_READINGS} {past} {unit.value} past {limit}"


def lines_not_read(read: Sequence[str]) -> str:
    """Which of along, across and the two diagonals nobody read; empty when each was."""
    started = {place.partition("-")[0] for place in read}
    missing = [way for way in ("along", "across") if way not in started]
    missing += [
        place_words(place) for place in ("diagonal-left", "diagonal-right") if place not in read
    ]
    return f"not read: {listed(missing)}" if missing else ""


def odd_gap(gap: Length, unit: Unit) -> str:
    """The question to ask of a gap that is wide for any deck, or nothing."""
    if gap < FLATNESS_ODD:
        return ""
    return (
        f"{size_words(gap, unit)} {unit.value} is wide for a deck. Was it typed in another unit? "
        "Mend it, or say below that it is so."
    )


def odd_hardness(number: float) -> str:
    """The question to ask of a hardness that no head of aluminium has, or nothing."""
    if SOFTEST_HB <= number <= HARDEST_HB:
        return ""
    return (
        f"{number:g} HB is odd for an aluminium head ({SOFTEST_HB:g} to {HARDEST_HB:g}). Was it "
        "read on another scale? Mend it, or say below that it is so."
    )


def hardness_words(found: Hardness, *, new: tuple[float, float], reject: float, source: str) -> str:
    """The mean against what new heads have and what the shop rejects."""
    spots = counted(len(found.inputs["spots"]), "spot")
    start = f"mean {found.shown} HB of {spots}"
    if len(found.inputs["spots"]) < len(SPOTS):
        start += f" ({len(SPOTS)} are asked for)"
    least, most = new
    if found.mean < reject:
        said = f"under {reject:g} HB, the shop's least to go on with"
    elif found.mean < least:
        said = f"softer than a new head ({least:g} to {most:g} HB), not under {reject:g} HB"
    elif found.mean > most:
        said = f"harder than a new head ({least:g} to {most:g} HB)"
    else:
        said = f"as a new head has ({least:g} to {most:g} HB)"
    return f"{start}: {BY_THESE_READINGS} {said} ({source})"


def asked_of_method(
    kind: InspectionKind, outcome: Outcome, method: str, material: Material | None
) -> str:
    """What the method of a crack test leaves open, in words; nothing is stopped by it."""
    if kind is not InspectionKind.CRACK or outcome is Outcome.NOT_DONE:
        return ""
    if not method:
        return "how it was tested is not said"
    if "magnetic" in method.lower() and material is Material.ALUMINIUM:
        return "magnetic particles show cracks in iron and steel alone; this head is aluminium"
    return ""
