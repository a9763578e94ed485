"""One shop rule as the app knows it: what it limits, its default and source, what it may be."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.sources import Mark
from app.workflow.kinds import Said


class RuleKind(Said):
    """What a rule's value is."""

    LENGTH = "length"
    NUMBER = "number"
    WORD = "word"
    TEXT = "text"


class RuleGroup(Said):
    """Under which heading a rule stands."""

    MEASURE = "measure", "Measuring"
    GUIDES = "guides", "Guides"
    SET = "set", "Setting the cutter"
    CUT = "cut", "Cutting"
    VERIFY = "verify", "Bore proved"
    FINISH = "finish", "Rings in and seats finished"
    PLAN = "plan", "Promises and the work left"
    PAPERS = "papers", "Papers and people"
    CAUTION = "caution", "Cautions"


class RuleError(ValueError):
    """A value that this rule cannot have; the message says why."""


@dataclass(frozen=True, slots=True)
class Definition:
    """One rule as the app knows it, before a shop changes it.

    `least` and `most` are texts with the unit, so that the refusal quotes the range as written.
    """

    key: str
    group: RuleGroup
    kind: RuleKind
    default: str
    words: str
    used: str
    source: str
    mark: Mark
    least: str = ""
    most: str = ""
    unit: str = ""
    choices: type[Said] | None = None
    is_whole: bool = False
    longest: int = 200

    @property
    def cited(self) -> str:
        """The default's source with its mark: ``head shops (common practice)``."""
        mark = self.mark.value
        return self.source if self.source.startswith(mark) else f"{self.source} ({mark})"


def rule(
    key: str,
    group: RuleGroup,
    default: str,
    words: str,
    used: str,
    *,
    least: str = "",
    most: str = "",
    unit: str = "",
    choices: type[Said] | None = None,
    is_whole: bool = False,
    source: str = "",
    mark: Mark = Mark.COMMON_PRACTICE,
    kind: RuleKind = RuleKind.LENGTH,
    longest: int = 200,
) -> Definition:
    """A definition, most of which is usual: a length, by common practice."""
    return Definition(
        key=key,
        group=group,
        kind=kind,
        default=default,
        words=words,
        used=used,
        source=source or mark.value,
        mark=mark,
        least=least,
        most=most,
        unit=unit,
        choices=choices,
        is_whole=is_whole,
        longest=longest,
    )
