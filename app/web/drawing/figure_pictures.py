"""Pictures of the office's figures: lines over one scale, and how often each size came.

Places along are percent of the drawing's width and places across are pixels, as in a tip's chart.
What a mark means is told by its shape and in words; the table with the same figures is the page's.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.units import Length
from app.queries.figure_views import Histogram, Spans

ROW = 30
HALF_BAR = 8
PLOT_HEIGHT = 180
TOP = 34
MOST_TICKS = 6
FROM, TO = 1.0, 97.0


@dataclass(frozen=True, slots=True)
class Told:
    """A text at its place."""

    at: str
    text: str


@dataclass(frozen=True, slots=True)
class Line:
    """One line: its words, and a bar from nought or a mark between two ends."""

    y: int
    label: str
    note: str
    bar: tuple[str, str] | None  # from, width
    reach: tuple[str, str] | None
    mark: str


@dataclass(frozen=True, slots=True)
class SpanPicture:
    """Lines over one scale."""

    kind: str
    name: str
    height: int
    lines: tuple[Line, ...]
    ticks: tuple[Told, ...]
    nought: str


@dataclass(frozen=True, slots=True)
class Stave:
    """How often one size came."""

    x: str
    width: str
    y: int
    height: int
    words: str


@dataclass(frozen=True, slots=True)
class HistogramPicture:
    """How often each size came, with the window and the aim."""

    kind: str
    name: str
    height: int
    top: int
    bottom: int
    staves: tuple[Stave, ...]
    levels: tuple[Told, ...]
    ticks: tuple[Told, ...]
    most: str


def span_picture(spans: Spans, unit: str) -> SpanPicture:
    """Lines of one picture, each where its value lies."""
    values = [
        each
        for line in spans.lines
        for each in (line.value, line.low, line.high)
        if each is not None
    ]
    low, high = min([0.0, *values]), max([0.0, *values])
    if spans.unit == "share":
        # A share of nearly all would hide its own scatter on a scale from nought.
        low, high = max(0.0, min(values) // 0.1 * 0.1), 1.0
    step = _step(high - low, spans.unit, unit)
    first, last = low // step, -(-high // step)
    last = last if last > first else first + 1
    start, reach = first * step, (last - first) * step

    def at(value: float) -> float:
        return FROM + (value - start) / reach * (TO - FROM)

    lines = []
    for nth, line in enumerate(spans.lines):
        bar = span = None
        if line.value is not None and line.low is None:
            bar = (_percent(at(0.0)), _percent(at(line.value) - at(0.0)))
        elif line.low is not None and line.high is not None:
            span = (_percent(at(line.low)), _percent(at(line.high)))
        lines.append(
            Line(
                y=nth * ROW + ROW // 2 + 4,
                label=line.label,
                note=line.note,
                bar=bar,
                reach=span,
                mark=_percent(at(line.value)) if line.value is not None else "",
            )
        )
    ticks = [start + n * step for n in range(round(last - first) + 1)]
    return SpanPicture(
        kind="spans",
        name=f"{spans.name}: " + "; ".join(f"{each.label}, {each.note}" for each in spans.lines),
        height=len(lines) * ROW + 32,
        lines=tuple(lines),
        ticks=tuple(Told(_percent(at(one)), _tick(one, spans.unit, unit)) for one in ticks),
        nought=_percent(at(0.0)) if start <= 0 else "",
    )


def histogram_picture(histogram: Histogram, unit: str) -> HistogramPicture:
    """Staves over the sizes, from beyond the window on one side to beyond it on the other."""
    middles = [middle.nm for middle, _ in histogram.bins]
    half = histogram.width.nm / 2
    low = min(histogram.least.nm, min(middles) - half) - histogram.width.nm
    high = max(histogram.most.nm, max(middles) + half) + histogram.width.nm
    most = max(count for _, count in histogram.bins)
    bottom = TOP + PLOT_HEIGHT

    def at(nm: float) -> float:
        return FROM + (nm - low) / (high - low) * (TO - FROM)

    staves = []
    for middle, count in histogram.bins:
        tall = round(count / most * PLOT_HEIGHT)
        staves.append(
            Stave(
                x=_percent(at(middle.nm - half * 0.9)),
                width=_percent(at(middle.nm + half * 0.9) - at(middle.nm - half * 0.9)),
                y=bottom - tall,
                height=tall,
                words=f"{_signed(middle, unit)}: {count}",
            )
        )
    levels = [(histogram.least, "least"), (Length(0), "aim"), (histogram.most, "most")]
    return HistogramPicture(
        kind="histogram",
        name=f"{histogram.name}; window {_signed(histogram.least, unit)} to "
        f"{_signed(histogram.most, unit)}, most often {most} in one step",
        height=bottom + 28,
        top=TOP,
        bottom=bottom,
        staves=tuple(staves),
        levels=tuple(Told(_percent(at(one.nm)), words) for one, words in levels),
        ticks=tuple(Told(_percent(at(one.nm)), _signed(one, unit)) for one, _ in levels),
        most=str(most),
    )


def _signed(length: Length, unit: str) -> str:
    return ("+" if length.nm > 0 else "") + length.shown(unit, 4, 4)


def _step(reach: float, kind: str, unit: str) -> float:
    """A round step of which the scale takes few."""
    base = {"share": 0.01, "count": 1.0, "days": 1.0}.get(kind, 254.0 if unit == "in" else 100.0)
    size = base
    while True:
        for times in (1, 2, 5):
            if reach / (size * times) <= MOST_TICKS:
                return size * times
        size *= 10


def _tick(value: float, kind: str, unit: str) -> str:
    if kind == "share":
        return f"{round(value * 100)} %"
    if kind == "length":
        return _signed(Length(round(value)), unit)
    return str(round(value))


def _percent(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") + "%"
