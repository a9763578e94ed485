"""Fewest points that stab intervals, with the points nearest the intervals' aims.

All figures are whole numbers of one small unit; the caller chooses it so that a middle is whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

MOST_WORK = 2_000_000  # group bounds worked, about a second


@dataclass(frozen=True, slots=True)
class Span:
    """An interval, ends included, and the point in or near it that is aimed at."""

    low: int
    high: int
    aim: int

    def within(self, reach: int) -> tuple[int, int]:
        """The part of it that lies no farther than `reach` from the aim; may be empty."""
        return max(self.low, self.aim - reach), min(self.high, self.aim + reach)

    @staticmethod
    def centre(spans: Sequence[Span]) -> int:
        """The point inside all spans that has the least largest distance from their aims."""
        middle = (min(s.aim for s in spans) + max(s.aim for s in spans)) // 2
        return min(max(middle, max(s.low for s in spans)), min(s.high for s in spans))


def stab(*, intervals: Sequence[tuple[int, int]]) -> list[int]:
    """Fewest points that touch every interval: each at the right end of the first one untouched.

    Parameters
    ----------
    intervals : sequence of (int, int)
        low and high, low ≤ high, in any one unit [-]

    >>> stab(intervals=[(0, 3), (2, 5), (4, 9), (7, 8)])
    [3, 8]
    """
    points: list[int] = []
    for low, high in sorted(intervals, key=lambda interval: interval[1]):
        if not points or low > points[-1]:
            points.append(high)
    return points


def least_reach(*, spans: Sequence[Span]) -> int:
    """The least largest distance from the aims that still needs no more points than the spans.

    Halving the range is exact: with a larger reach the intervals only grow, so the number of
    points never rises.

    Parameters
    ----------
    spans : sequence of Span
        none of them empty; even numbers of any one unit [-]

    >>> least_reach(spans=[Span(0, 8, 4), Span(4, 12, 8), Span(30, 38, 34)])
    2
    """
    fewest = len(stab(intervals=[(span.low, span.high) for span in spans]))
    short, enough = -1, max(max(span.high - span.aim, span.aim - span.low) for span in spans)
    while enough - short > 1:
        reach = (short + enough) // 2
        intervals = [span.within(reach) for span in spans]
        if all(low <= high for low, high in intervals) and (
            len(stab(intervals=intervals)) <= fewest
        ):
            enough = reach
        else:
            short = reach
    return enough


def least_vector(*, spans: Sequence[Span], reach: int) -> list[list[int]]:
    """Groups of spans, one for each point, whose centres are smallest, compared from the first on.

    Depth first over the spans that more than one point could serve. A branch ends when even its
    best centres, each worked by itself, are not smaller than the best found.

    Parameters
    ----------
    spans : sequence of Span
        none of them empty; even numbers of any one unit [-]
    reach : int
        largest distance allowed between a span's aim and its point, in the same unit [-]

    Returns
    -------
    list of list of int
        indexes into `spans`, each list rising, by rising centre

    >>> least_vector(spans=[Span(0, 8, 4), Span(4, 12, 8), Span(8, 16, 12)], reach=2)
    [[0], [1, 2]]
    """
    search = _Search(spans, reach)
    search.run()
    return search.groups()


@dataclass(slots=True)
class _Group:
    """What the centre of a group hangs on, kept up to date as spans join."""

    least_aim: int
    most_aim: int
    low: int
    high: int
    near_low: int
    near_high: int

    def joined(self, span: Span, near: tuple[int, int]) -> _Group | None:
        """With one span more, or None when no point would serve them all."""
        group = _Group(
            min(self.least_aim, span.aim),
            max(self.most_aim, span.aim),
            max(self.low, span.low),
            min(self.high, span.high),
            max(self.near_low, near[0]),
            min(self.near_high, near[1]),
        )
        return group if group.near_low <= group.near_high else None

    def centre(self) -> int:
        middle = (self.least_aim + self.most_aim) // 2
        return min(max(middle, self.low), self.high)

    def least_centre(self, open_aim: int, open_high: int) -> int:
        """No centre of this group can be smaller, whichever open spans still join."""
        middle = (min(self.least_aim, open_aim) + self.most_aim) // 2
        return max(self.low, min(middle, self.high, open_high))


class _Search:
    def __init__(self, spans: Sequence[Span], reach: int) -> None:
        self.spans = spans
        self.near = [span.within(reach) for span in spans]
        latest = stab(intervals=self.near)
        # The same from the other side: no plan has its points further left than these.
        earliest = [-at for at in stab(intervals=[(-h, -low) for low, h in self.near])][::-1]
        choices = [
            [
                point
                for point in range(len(latest))
                if low <= latest[point] and earliest[point] <= high
            ]
            for low, high in self.near
        ]
        self.free = sorted(
            (i for i in range(len(spans)) if len(choices[i]) > 1),
            key=lambda i: (choices[i][0], self.near[i][1]),
        )
        self.choices = choices
        self.placed = [options[0] if len(options) == 1 else -1 for options in choices]
        self.state = self._forced(len(latest))
        self.after = self._open_after(len(latest))
        # Every span at the last point that it reaches: a plan, and mostly the best one.
        self.best_placed = [
            max(point for point in choices[i] if earliest[point] >= self.near[i][0])
            for i in range(len(spans))
        ]
        self.best = self._centres(self.best_placed)
        self.work = 0

    def _forced(self, points: int) -> list[_Group]:
        groups: list[_Group | None] = [None] * points
        for i, point in enumerate(self.placed):
            if point < 0:
                continue
            span, near = self.spans[i], self.near[i]
            group = groups[point]
            groups[point] = (
                _Group(span.aim, span.aim, span.low, span.high, *near)
                if group is None
                else group.joined(span, near)
            )
        found = [group for group in groups if group is not None]
        # Each point has a span that no other can serve, and all such spans meet at one place.
        assert len(found) == points
        return found

    def _open_after(self, points: int) -> list[list[tuple[int, int]]]:
        """For each depth and point, the least aim and least high among the spans still open."""
        none = (1 << 62, 1 << 62)
        table = [[none] * points]
        for i in reversed(self.free):
            row = list(table[-1])
            for point in self.choices[i]:
                aim, high = row[point]
                row[point] = min(aim, self.spans[i].aim), min(high, self.spans[i].high)
            table.append(row)
        return table[::-1]

    def _centres(self, placed: Sequence[int]) -> list[int]:
        points = max(placed) + 1
        members: list[list[Span]] = [[] for _ in range(points)]
        for i, point in enumerate(placed):
            members[point].append(self.spans[i])
        return [Span.centre(group) for group in members]

    def run(self) -> None:
        """Depth first without recursion: there may be more free spans than a stack is deep."""
        if self._bound(0) >= self.best:
            return
        open_options = [reversed(self.choices[self.free[0]])]
        undo: list[tuple[int, _Group]] = []
        while open_options and self.work < MOST_WORK:
            depth = len(open_options) - 1
            if len(undo) > depth:
                point, group_before = undo.pop()
                self.state[point] = group_before
            option = next(open_options[-1], None)
            if option is None:
                open_options.pop()
                continue
            i = self.free[depth]
            joined = self.state[option].joined(self.spans[i], self.near[i])
            if joined is None:
                continue
            undo.append((option, self.state[option]))
            self.state[option], self.placed[i] = joined, option
            bound = self._bound(depth + 1)
            if bound >= self.best:
                continue
            if depth + 1 == len(self.free):
                self.best, self.best_placed = bound, list(self.placed)
            else:
                open_options.append(reversed(self.choices[self.free[depth + 1]]))

    def _bound(self, depth: int) -> list[int]:
        self.work += len(self.state)
        return [
            group.least_centre(*still_open)
            for group, still_open in zip(self.state, self.after[depth], strict=True)
        ]

    def groups(self) -> list[list[int]]:
        found: list[list[int]] = [[] for _ in self.best]
        for i, point in enumerate(self.best_placed):
            found[point].append(i)
        return found
