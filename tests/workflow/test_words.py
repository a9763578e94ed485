"""The words that people read."""

from datetime import date

import pytest

from app.workflow import kinds, words
from app.workflow.kinds import Said
from app.workflow.words import Stage, counted, day_words, listed, money, sentence


def test_the_first_stage_reads_taken_in() -> None:
    assert Stage.INTAKE.screen == "taken in"
    assert Stage("intake") is Stage.INTAKE
    assert str(Stage.INTAKE) == "intake"


def test_a_word_without_screen_words_reads_as_it_is_stored() -> None:
    assert words.Ended.SCRAPPED.screen == "scrapped"


@pytest.mark.parametrize("module", [kinds, words])
def test_no_stored_word_says_more_than_a_word(module: object) -> None:
    for name in vars(module).values():
        if isinstance(name, type) and issubclass(name, Said) and name is not Said:
            for member in name:
                assert member.value == member.value.strip()
                assert len(member.value) <= 24
                assert member.screen.strip()


def test_days_are_told_as_over_a_phone() -> None:
    today = date(2026, 11, 24)
    assert day_words(today, today) == "today"
    assert day_words(date(2026, 11, 27), today) == "Friday 27 Nov"
    assert day_words(date(2027, 1, 5), today) == "Tuesday 5 Jan 2027"


def test_amounts_are_whole_minor_units() -> None:
    assert [money(64000), money(5), money(-1205)] == ["640.00", "0.05", "-12.05"]


def test_names_are_listed_as_said() -> None:
    assert [listed([]), listed(["2E"]), listed(["2E", "3E"]), listed(["1E", "2E", "3E"], "or")] == [
        "",
        "2E",
        "2E and 3E",
        "1E, 2E or 3E",
    ]
    assert [counted(1, "position"), counted(2, "position")] == ["1 position", "2 positions"]
    assert [sentence("3E is bored"), sentence(" read again? "), sentence("")] == [
        "3E is bored.",
        "Read again?",
        "",
    ]
