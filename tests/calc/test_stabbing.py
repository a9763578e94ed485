"""Fewest points in intervals, nearest what they aim at: compared with trying every grouping."""

from collections.abc import Iterator

from hypothesis import given
from hypothesis import strategies as st

from app.calc.stabbing import Span, least_reach, least_vector, stab

CHECKS = {
    "stab": "Kleinberg and Tardos, Algorithm Design, ch. 4 (from memory): right ends are optimal; "
    "every grouping tried on small cases",
    "least_reach": "every grouping tried on small cases",
    "least_vector": "every grouping tried on small cases",
}


@st.composite
def spans(draw: st.DrawFn) -> Span:
    low = draw(st.integers(0, 20))
    high = low + draw(st.integers(0, 20))
    return Span(2 * low, 2 * high, 2 * draw(st.integers(low - 3, high + 3)))


def groupings(items: list[int]) -> Iterator[list[list[int]]]:
    if not items:
        yield []
        return
    first, *rest = items
    for grouping in groupings(rest):
        yield [[first], *grouping]
        for at in range(len(grouping)):
            yield [*grouping[:at], [first, *grouping[at]], *grouping[at + 1 :]]


def best_of_all(given_spans: list[Span]) -> tuple[int, int, list[int]]:
    """Number, worst distance from an aim, and points: the least of every possible grouping."""
    found = []
    for grouping in groupings(list(range(len(given_spans)))):
        groups = [[given_spans[i] for i in group] for group in grouping]
        if all(max(s.low for s in group) <= min(s.high for s in group) for group in groups):
            centres = [Span.centre(group) for group in groups]
            worst = max(
                abs(centre - span.aim)
                for centre, group in zip(centres, groups, strict=True)
                for span in group
            )
            found.append((len(groups), worst, sorted(centres)))
    return min(found)


@given(st.lists(spans(), min_size=1, max_size=6))
def test_no_grouping_is_better(given_spans: list[Span]):
    reach = least_reach(spans=given_spans)
    groups = least_vector(spans=given_spans, reach=reach)
    centres = [Span.centre([given_spans[i] for i in group]) for group in groups]
    assert sorted(i for group in groups for i in group) == list(range(len(given_spans)))
    assert (len(groups), reach, centres) == best_of_all(given_spans)


@given(st.lists(spans(), min_size=1, max_size=40))
def test_every_interval_is_stabbed_and_the_points_rise(given_spans: list[Span]):
    points = stab(intervals=[(span.low, span.high) for span in given_spans])
    assert points == sorted(set(points))
    assert all(any(s.low <= point <= s.high for point in points) for s in given_spans)


@given(st.lists(spans(), min_size=1, max_size=8))
def test_a_centre_is_as_near_to_its_aims_as_any_point_inside(given_spans: list[Span]):
    low, high = max(s.low for s in given_spans), min(s.high for s in given_spans)
    if low > high:
        return

    def worst(point: int) -> int:
        return max(abs(point - span.aim) for span in given_spans)

    centre = Span.centre(given_spans)
    assert low <= centre <= high
    assert worst(centre) == min(worst(point) for point in range(low, high + 1))


def test_hundreds_of_spans_that_many_points_could_serve_do_not_exhaust_the_stack():
    many = [Span(i, i + 2_000 + 2 * (i % 7), i + 1_000) for i in range(0, 12_000, 12)]
    groups = least_vector(spans=many, reach=least_reach(spans=many))
    assert sum(len(group) for group in groups) == len(many)
    assert len(groups) == len(stab(intervals=[(span.low, span.high) for span in many]))
