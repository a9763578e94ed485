"""A tip's overcut as drawn: cut after cut, with mean, limits and what the shop leaves alone.

Places along are percent of the drawing's width and places across are pixels, so that lines stretch
with the page and neither letters nor marks do. What a mark means is told by its shape and in words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from app.calc.units import Length

PLOT_HEIGHT = 176
LANE = 20  # one row of words over the plot
MOST_LANES = 3
# A lone stray is held at the edge, so that the others can still be told apart.
MOST_REACH = 2.5
FROM, TO = 3.0, 98.0
MOST_STEP = 7.0
LABELS_UP_TO = 16
LEAST_APART = 17  # of two figures beside the plot
PERCENT_A_LETTER = 1.15
MOST_TICKS = 7
STEPS = {
    "in": [Length.of(text) for text in (".0001", ".0002", ".0005", ".001", ".002", ".005", ".01")],
    "mm": [
        Length.of(text, "mm")
        for text in ("0.001", "0.002", "0.005", "0.01", "0.02", "0.05", "0.1", "0.2")
    ],
}
Shape = Literal["cut", "sign", "left_out"]


@dataclass(frozen=True, slots=True)
class ChartCut:
    """One cut: what it came out beside its set size; `words` are told where a pointer rests."""

    value: Length
    nth: int | None  # none: left out of the mean
    label: str
    words: str
    is_sign: bool = False


@dataclass(frozen=True, slots=True)
class ChartSign:
    """Words over the cuts from one place to another, counted from 0 among those drawn."""

    first: int
    last: int
    words: str


@dataclass(frozen=True, slots=True)
class ChartTip:
    """What one tip cut; `change` are the words at its start, empty when that is not drawn."""

    cuts: tuple[ChartCut, ...]
    mean: Length | None
    low: Length | None
    high: Length | None
    signs: tuple[ChartSign, ...] = ()
    change: str = ""


@dataclass(frozen=True, slots=True)
class Point:
    """A mark at its place; `off` when its value lies beyond what is drawn."""

    x: str
    y: int
    shape: Shape
    off: Literal["", "high", "low"]
    words: str


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    x1: str
    y1: int
    x2: str
    y2: int


@dataclass(frozen=True, slots=True)
class Level:
    """Mean or limit of one tip, over the cuts that it made."""

    kind: Literal["mean", "limit"]
    line: Line


@dataclass(frozen=True, slots=True)
class Band:
    """What the shop leaves alone around one tip's mean."""

    x: str
    width: str
    y: int
    height: int


@dataclass(frozen=True, slots=True)
class Bracket:
    """Words over a stretch of cuts."""

    x1: str
    x2: str
    y: int
    text_x: str
    words: str


@dataclass(frozen=True, slots=True)
class Told:
    """A text at its place."""

    at: str
    y: int
    text: str
    kind: str = ""


@dataclass(frozen=True, slots=True)
class OvercutChart:
    """What the partial draws; `name` says the whole picture in words."""

    height: int
    top: int
    bottom: int
    ticks: tuple[Told, ...]
    bands: tuple[Band, ...]
    levels: tuple[Level, ...]
    joins: tuple[Line, ...]
    points: tuple[Point, ...]
    brackets: tuple[Bracket, ...]
    changes: tuple[Told, ...]
    below: tuple[Told, ...]
    beside: tuple[Told, ...]
    has: frozenset[str]  # which marks the key explains
    name: str


def overcut_chart(
    *, tips: Sequence[ChartTip], dead_band: Length, unit: str = "in", about: str = ""
) -> OvercutChart:
    """Draw the cuts of one tip, or of several in turn; the last tip's figures stand beside.

    `about` opens the picture's words: ``Overcut in grey iron``.
    """
    return _Drawing(tips, dead_band, unit, about).drawn()


class _Drawing:
    def __init__(self, tips: Sequence[ChartTip], dead_band: Length, unit: str, about: str) -> None:
        self.tips, self.dead_band, self.unit, self.about = tips, dead_band, unit, about
        self.count = sum(len(tip.cuts) for tip in tips)
        self.step = min(MOST_STEP, (TO - FROM) / max(1, self.count - 1))
        self.starts = [sum(len(tip.cuts) for tip in tips[:at]) for at in range(len(tips))]
        self.low, self.high, self.tick = self._range()
        self.placed = self._lanes()
        lanes = 1 + max((lane for _, _, lane in self.placed), default=-1)
        self.change_lane = LANE if any(tip.change for tip in tips) else 0
        self.top = self.change_lane + lanes * LANE + 8
        self.bottom = self.top + PLOT_HEIGHT

    def drawn(self) -> OvercutChart:
        points = self._points()
        return OvercutChart(
            height=self.bottom + (44 if self.count <= LABELS_UP_TO else 26),
            top=self.top,
            bottom=self.bottom,
            ticks=self._ticks(),
            bands=self._bands(),
            levels=self._levels(),
            joins=self._joins(),
            points=points,
            brackets=tuple(
                Bracket(
                    x1=_percent(max(0.0, self._x(sign.first) - 0.8)),
                    x2=_percent(min(100.0, self._x(sign.last) + 0.8)),
                    y=self.change_lane + (lane + 1) * LANE,
                    text_x=_percent(middle),
                    words=sign.words,
                )
                for sign, middle, lane in self.placed
            ),
            changes=tuple(
                Told(_percent(max(0.4, self._x(start) - self.step / 2)), 13, tip.change)
                for tip, start in zip(self.tips, self.starts, strict=True)
                if tip.change
            ),
            below=self._below(),
            beside=self._beside(),
            has=frozenset([point.shape for point in points] + ["off"] * any(p.off for p in points)),
            name=self._name(),
        )

    # Scale

    def _range(self) -> tuple[float, float, Length]:
        """From the lowest to the highest that is drawn, widened to whole steps of the axis."""
        middles = [tip.mean for tip in self.tips if tip.mean is not None]
        every = [cut.value.nm for tip in self.tips for cut in tip.cuts]
        kept: list[int] = []
        for tip in self.tips:
            if tip.mean is not None:
                kept += [tip.mean.nm - self.dead_band.nm, tip.mean.nm + self.dead_band.nm]
            kept += [limit.nm for limit in (tip.low, tip.high) if limit is not None]
        if kept:
            middle = sum(mean.nm for mean in middles) / len(middles)
            reach = MOST_REACH * max(abs(nm - middle) for nm in kept) or 1.0
            every = [nm for nm in every if abs(nm - middle) <= reach]
        low, high = min(every + kept), max(every + kept)
        steps = STEPS[self.unit]
        tick = next((s for s in steps if (high - low) / s.nm <= MOST_TICKS - 2), steps[-1])
        first, last = low // tick.nm, -(-high // tick.nm)
        if first == last:
            last += 1
        return first * tick.nm, last * tick.nm, tick

    def _y(self, nm: float) -> int:
        share = (nm - self.low) / (self.high - self.low)
        return round(self.bottom - share * PLOT_HEIGHT)

    def _x(self, place: float) -> float:
        return FROM + place * self.step

    def _ticks(self) -> tuple[Told, ...]:
        count = round((self.high - self.low) / self.tick.nm)
        every = [Length(round(self.low) + n * self.tick.nm) for n in range(count + 1)]
        return tuple(Told("100%", self._y(each.nm), each.shown(self.unit, 4, 3)) for each in every)

    # Marks

    def _points(self) -> tuple[Point, ...]:
        found = []
        for tip, start in zip(self.tips, self.starts, strict=True):
            for place, cut in enumerate(tip.cuts, start=start):
                high, low = cut.value.nm > self.high, cut.value.nm < self.low
                found.append(
                    Point(
                        x=_percent(self._x(place)),
                        y=self.top if high else self.bottom if low else self._y(cut.value.nm),
                        shape="left_out" if cut.nth is None else "sign" if cut.is_sign else "cut",
                        off="high" if high else "low" if low else "",
                        words=cut.words,
                    )
                )
        return tuple(found)

    def _joins(self) -> tuple[Line, ...]:
        """Neighbours that count, of one tip; a cut that is left out is passed over."""
        found = []
        for tip, start in zip(self.tips, self.starts, strict=True):
            counting = [(at, cut) for at, cut in enumerate(tip.cuts, start) if cut.nth is not None]
            for (at, one), (then, other) in pairwise(counting):
                found.append(
                    Line(
                        _percent(self._x(at)),
                        self._held(one),
                        _percent(self._x(then)),
                        self._held(other),
                    )
                )
        return tuple(found)

    def _held(self, cut: ChartCut) -> int:
        return self._y(min(self.high, max(self.low, cut.value.nm)))

    def _stretch(self, at: int) -> tuple[float, float]:
        """Where a tip's own levels begin and end; the last one's reach to the figures beside."""
        start = self._x(self.starts[at]) - self.step / 2
        end = self._x(self.starts[at] + len(self.tips[at].cuts)) - self.step / 2
        return (0.0 if at == 0 else start), (100.0 if at == len(self.tips) - 1 else end)

    def _levels(self) -> tuple[Level, ...]:
        found = []
        for at, tip in enumerate(self.tips):
            start, end = (_percent(each) for each in self._stretch(at))
            levels: list[tuple[Literal["mean", "limit"], Length | None]] = [
                ("limit", tip.low),
                ("limit", tip.high),
                ("mean", tip.mean),
            ]
            for kind, value in levels:
                if value is not None:
                    y = self._y(value.nm)
                    found.append(Level(kind, Line(start, y, end, y)))
        return tuple(found)

    def _bands(self) -> tuple[Band, ...]:
        found = []
        for at, tip in enumerate(self.tips):
            if tip.mean is None or not self.dead_band:
                continue
            start, end = self._stretch(at)
            top = self._y(tip.mean.nm + self.dead_band.nm)
            bottom = self._y(tip.mean.nm - self.dead_band.nm)
            found.append(Band(_percent(start), _percent(end - start), top, bottom - top))
        return tuple(found)

    # Words

    def _lanes(self) -> list[tuple[ChartSign, float, int]]:
        """Each sign's words where none covers another's, the newest first; the rest go without."""
        signs = [
            ChartSign(sign.first + start, sign.last + start, sign.words)
            for tip, start in zip(self.tips, self.starts, strict=True)
            for sign in tip.signs
        ]
        taken: list[list[tuple[float, float]]] = [[] for _ in range(MOST_LANES)]
        placed = []
        for sign in sorted(signs, key=lambda each: (-each.last, each.first)):
            half = len(sign.words) * PERCENT_A_LETTER / 2 + 1
            middle = (self._x(sign.first) + self._x(sign.last)) / 2
            middle = min(100 - half, max(half, middle))
            left = min(middle - half, self._x(sign.first) - 1)
            right = max(middle + half, self._x(sign.last) + 1)
            for lane, spans in enumerate(taken):
                if all(right <= a or b <= left for a, b in spans):
                    spans.append((left, right))
                    placed.append((sign, middle, lane))
                    break
        # Lanes are counted from the plot upward, so that one sign stands close to its cuts.
        used = 1 + max((lane for _, _, lane in placed), default=-1)
        return [(sign, middle, used - 1 - lane) for sign, middle, lane in placed]

    def _below(self) -> tuple[Told, ...]:
        """The number of each cut, or of every fifth; the position too where there is room."""
        cuts = [cut for tip in self.tips for cut in tip.cuts]
        few = self.count <= LABELS_UP_TO
        found = []
        for place, cut in enumerate(cuts):
            at = _percent(self._x(place))
            if cut.nth is not None and (few or cut.nth == 1 or cut.nth % 5 == 0):
                found.append(Told(at, self.bottom + 18, str(cut.nth), "nth"))
            elif cut.nth is None and few:
                found.append(Told(at, self.bottom + 18, "–", "nth"))
            if few:
                found.append(Told(at, self.bottom + 36, cut.label, "place"))
        return tuple(found)

    def _beside(self) -> tuple[Told, ...]:
        """The last tip's limits and mean, moved apart where they would touch."""
        tip = self.tips[-1]
        told = [("limit", tip.high), ("mean", tip.mean), ("limit", tip.low)]
        found: list[Told] = []
        for kind, value in told:
            if value is None:
                continue
            y = self._y(value.nm) + 5
            if found:
                y = max(y, found[-1].y + LEAST_APART)
            found.append(Told("0", y, f"{kind} {value.shown(self.unit, 5, 4)}", kind))
        return tuple(found)

    def _name(self) -> str:
        tip = self.tips[-1]
        parts = [f"{self.about}: {self.count} {'cut' if self.count == 1 else 'cuts'} drawn"]
        if tip.mean is not None:
            parts.append(f"mean {tip.mean.shown(self.unit, 5, 4)}")
        if tip.low is not None and tip.high is not None:
            low, high = (each.shown(self.unit, 5, 4) for each in (tip.low, tip.high))
            parts.append(f"limits of a single cut {low} to {high}")
        out = sum(cut.nth is None for each in self.tips for cut in each.cuts)
        if out:
            parts.append(f"{out} left out")
        parts += [sign.words for each in self.tips for sign in each.signs]
        return "; ".join(parts)


def _percent(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") + "%"
