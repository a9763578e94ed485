"""Every figure with its value and source, as it holds in this shop: for the page of sources."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from sqlmodel import Session

from app.calc import sources
from app.calc.constant import Section
from app.calc.plain_sources import PLAIN_SOURCES, PlainSource
from app.calc.sources import Mark, Source
from app.queries.figures import Figure, figures_of_section, rule_figures
from app.queries.shop_rules import rule_lines
from app.workflow.folding import folded

ALL_SOURCES = tuple(one for one in vars(sources).values() if isinstance(one, Source))
RULES_KEY, RULES_WORDS = "shop-rules", "Shop rules"


@dataclass(frozen=True)
class FigureSection:
    """The rows under one heading."""

    key: str
    words: str
    figures: tuple[Figure, ...]


@dataclass(frozen=True)
class SourceEntry:
    """One source and the figures of this page that rest on it."""

    source: Source
    resting: tuple[Figure, ...]

    def is_found(self, mark: Mark | None, wanted: str) -> bool:
        """As rows are; a source is found by its own words."""
        if mark is not None and self.source.mark is not mark:
            return False
        text = folded(f"{self.source.text} {self.source.mark.value}")
        return all(word in text for word in folded(wanted).split())


@dataclass(frozen=True)
class SourcesView:
    """The page: sections of figures, then the sources themselves."""

    sections: tuple[FigureSection, ...]
    entries: tuple[SourceEntry, ...]
    plain: tuple[PlainSource, ...]
    counts: Mapping[Mark, int]  # of all figures, whatever is looked for
    found: int


def sources_view(
    session: Session, *, unit: str = "in", mark: Mark | None = None, wanted: str = ""
) -> SourcesView:
    """What stands on the page; `mark` and `wanted` leave out what they do not find."""
    lines = rule_lines(session)
    rules = {line.rule.key: line for group in lines.values() for line in group}
    named = {
        section: list(figures_of_section(session, section, rules, unit)) for section in Section
    }
    every = [(section.key, section.value, rows) for section, rows in named.items()]
    every.append((RULES_KEY, RULES_WORDS, list(rule_figures(lines))))
    numbered = _numbered(every)
    counts = dict.fromkeys(Mark, 0)
    for section in numbered:
        for figure in section.figures:
            counts[figure.mark] += 1
    entries = tuple(_entry(source, numbered) for source in ALL_SOURCES)
    left = tuple(_left(section, mark, wanted) for section in numbered)
    return SourcesView(
        sections=tuple(section for section in left if section.figures),
        entries=tuple(entry for entry in entries if entry.is_found(mark, wanted)),
        plain=() if mark is not None or wanted else PLAIN_SOURCES,
        counts=counts,
        found=sum(len(section.figures) for section in left),
    )


def _numbered(
    every: Iterable[tuple[str, str, list[Figure]]],
) -> tuple[FigureSection, ...]:
    """Rows with numbers of their own, so that a source can lead to each."""
    nth, found = 0, []
    for key, words, rows in every:
        figures = []
        for row in rows:
            nth += 1
            figures.append(replace(row, nth=nth))
        found.append(FigureSection(key, words, tuple(figures)))
    return tuple(found)


def _left(section: FigureSection, mark: Mark | None, wanted: str) -> FigureSection:
    if folded(wanted).strip() and folded(wanted).strip() in folded(section.words):
        wanted = ""
    figures = tuple(one for one in section.figures if one.is_found(mark, wanted))
    return FigureSection(section.key, section.words, figures)


def _entry(source: Source, sections: Iterable[FigureSection]) -> SourceEntry:
    resting = [one for section in sections for one in section.figures if one.key == source.key]
    return SourceEntry(source, tuple(resting))
