"""The widest gap under a straight edge, against a limit."""

import pytest

from app.calc.errors import CalculationError
from app.calc.flatness import widest_gap
from app.calc.units import Length, parse_length

CHECKS = {
    "widest_gap": "published limits as examples: a general repair guide, .003 in in any 6 in and "
    ".006 in overall; a small diesel's manual, 0.04 mm"
}


@pytest.mark.parametrize(
    ("gap", "limit", "within", "spare"),
    [
        (".006 in", ".006 in", True, "0 in"),
        (".0061 in", ".006 in", False, "-.0001 in"),
        ("0.04 mm", "0.04 mm", True, "0 mm"),
        (".0016 in", "0.04 mm", False, "-0.00064 mm"),
    ],
)
def test_a_deck_is_within_a_limit_up_to_it(gap: str, limit: str, within: bool, spare: str):
    found = widest_gap(gaps={"along": parse_length(gap)}, limit=parse_length(limit))
    assert found.is_within is within
    assert found.spare == parse_length(spare)


def test_lines_that_gape_alike_are_all_named():
    gaps = {"along": Length.of(".002"), "across": Length.of(".001"), "diagonal": Length.of(".002")}
    assert widest_gap(gaps=gaps, limit=Length.of(".004")).places == ("along", "diagonal")


@pytest.mark.parametrize("gaps", [{}, {"": Length.of(".002")}, {"along": Length.of("-.002")}])
def test_a_gap_without_a_place_and_a_negative_one_are_refused(gaps: dict[str, Length]):
    with pytest.raises(CalculationError):
        widest_gap(gaps=gaps, limit=Length.of(".004"))
