"""The picture of a fit in heat: one scale, zero marked, and every figure in words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.units import Length
from app.web.drawing import FitPicture, fit_picture

IN = Length.of


def percent(text: str) -> float:
    assert text.endswith("%")
    return float(text.removesuffix("%"))


def picture(cold: str, *cases: tuple[str, str], unit: str = "in") -> FitPicture:
    return fit_picture(
        cold=IN(cold), cases=[(name, IN(figure)) for name, figure in cases], unit=unit
    )


def test_the_cold_fit_comes_first_and_the_cases_follow_in_their_order() -> None:
    drawn = picture(".0040", ("cold start", ".0048"), ("overheated", ".0002"))
    assert [line.name for line in drawn.lines] == ["cold, 20 °C", "cold start", "overheated"]
    assert [line.figure for line in drawn.lines] == [".0040", ".0048", ".0002"]


def test_lines_start_at_zero_and_are_as_long_as_their_figures() -> None:
    drawn = picture(".0040", ("hard", ".0020"), ("overheated", ".0010"))
    zero = percent(drawn.zero)
    assert all(percent(line.start) == zero for line in drawn.lines)
    cold, hard, over = (percent(line.width) for line in drawn.lines)
    assert hard == pytest.approx(cold / 2, abs=0.02)
    assert over == pytest.approx(cold / 4, abs=0.02)


def test_what_is_not_gripped_goes_left_of_zero_and_is_said_in_words() -> None:
    drawn = picture(".0020", ("hard", ".0001"), ("overheated", "-.0018"))
    gone = drawn.lines[-1]
    assert gone.is_gone
    assert percent(gone.end) < percent(drawn.zero) == percent(drawn.lines[1].start)
    assert gone.figure == "−.0018"
    assert "overheated −.0018, no grip left" in drawn.name
    assert "hard .0001, no grip" not in drawn.name


def test_nothing_at_all_left_is_no_grip_either() -> None:
    assert picture(".0020", ("overheated", "0")).lines[-1].is_gone


def test_millimetres_are_shown_in_thousandths_and_said_so() -> None:
    drawn = picture("0.18 mm", ("overheated", "0.0846 mm"), unit="mm")
    assert [line.figure for line in drawn.lines] == ["0.180", "0.085"]
    assert drawn.name.startswith("Interference in mm: cold, 20 °C 0.180; ")


@given(
    cold=st.integers(1, 400_000),
    cases=st.lists(st.integers(-600_000, 600_000), max_size=8),
)
def test_every_line_stays_inside_the_drawing_with_room_for_the_words(
    cold: int, cases: list[int]
) -> None:
    drawn = fit_picture(
        cold=Length(cold), cases=[(str(n), Length(one)) for n, one in enumerate(cases)]
    )
    assert percent(drawn.zero) >= 30
    for line in drawn.lines:
        start, end = percent(line.start), percent(line.start) + percent(line.width)
        assert -0.01 <= start <= end <= 97.01
        assert -0.01 <= percent(line.end) <= 97.01
