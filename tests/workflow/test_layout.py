"""Valve orders become named positions, or a message that says what does not fit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.workflow.layout import (
    LayoutError,
    Position,
    Side,
    common_layouts,
    lay_out,
    neighbours,
    read_cylinders,
    written,
)
from app.workflow.words import Kind


def labels(*args: object, **named: object) -> list[str]:
    return [position.label for position in lay_out(*args, **named)]  # type: ignore[arg-type]


def test_an_eight_valve_head_is_laid_out_as_its_valves_lie() -> None:
    assert labels("EIIEEIIE", 2) == ["1E", "1I", "2I", "2E", "3E", "3I", "4I", "4E"]


@pytest.mark.parametrize(
    "typed", ["eiieeiie", "E I I E E I I E", "EI-IE-EI-IE", "EI,IE, EI,IE", "  EIIE.EIIE\t"]
)
def test_case_and_separators_do_not_matter(typed: str) -> None:
    assert labels(typed, 2) == labels("EIIEEIIE", 2)
    assert written(typed) == "EIIEEIIE"


def test_cylinder_numbers_may_be_typed_as_they_lie() -> None:
    assert labels("EIIEEIIE", 2, "1-3-5-7") == ["1E", "1I", "3I", "3E", "5E", "5I", "7I", "7E"]
    assert labels("EIIE", 2, (4, 2)) == ["4E", "4I", "2I", "2E"]


def test_two_of_a_kind_in_a_cylinder_are_numbered_from_the_stated_end() -> None:
    sixteen = lay_out("IIIIIIII/EEEEEEEE", 4)
    assert [position.label for position in sixteen[:4]] == ["1I1", "1I2", "2I1", "2I2"]
    assert sixteen[-1].label == "4E2"
    assert sixteen[-1].name == "cylinder 4 exhaust 2"
    assert sixteen[8].row == 2
    assert sixteen[8].place == 9
    assert sixteen[8].place_in_row == 1


def test_a_single_exhaust_beside_two_intakes_needs_no_number() -> None:
    assert labels("II II/E E", 3) == ["1I1", "1I2", "2I1", "2I2", "1E", "2E"]


def test_a_position_is_told_by_label_and_long_name() -> None:
    third = lay_out("EIIEEIIE", 2)[4]
    assert third.title == "3E · cylinder 3 exhaust"
    assert third.kind is Kind.EXHAUST


def test_rows_of_different_number_lie_over_each_other() -> None:
    positions = {position.label: position for position in lay_out("IIIIII/EEEE", 5)}
    assert positions["1I2"].across * 2 == positions["2I2"].across * 2 - 1
    assert (positions["1E1"].across + positions["1E2"].across) / 2 == positions["1I2"].across


@pytest.mark.parametrize(
    ("order", "valves", "cylinders", "field", "words"),
    [
        ("", 2, "", "layout", "is empty"),
        (" / ", 2, "", "layout", "is empty"),
        ("EIXE", 2, "", "layout", "“X” is not a valve"),
        ("EI\ud800", 2, "", "layout", "is not a valve"),
        ("EIE", 2, "", "layout", "3 valves do not share out at 2"),
        ("EIIE", 1, "", "valves_per_cylinder", "2 to 5 valves"),
        ("EIIE", 6, "", "valves_per_cylinder", "2 to 5 valves"),
        ("EEII", 2, "", "layout", "cylinder 1 would have no intake valve"),
        ("EIIEEI", 3, "", "layout", "cylinder 2 would have 2 exhaust and 1 intake, but cylinder 1"),
        ("ıE", 2, "", "layout", "is not a valve"),
        ("E/I/E", 3, "", "layout", "one row or two"),
        ("EIEI/", 2, "", "layout", "one of the two rows is empty"),
        ("EIE/IEIEI", 4, "", "layout", "row 1 has 3 valves"),
        ("EIIE", 2, "1-2-3", "cylinders", "3 cylinder numbers typed, but this valve order makes 2"),
        ("EIIE", 2, "1-1", "cylinders", "cylinder 1 is typed 2 times"),
        ("EIIE", 2, "1-0", "cylinders", "“0” is not a cylinder number"),
        ("EIIE", 2, "1-x", "cylinders", "“x” is not a cylinder number"),
        ("EIIE", 2, "1-²", "cylinders", "is not a cylinder number"),
        ("EI" * 13, 2, "", "layout", "at most 12"),
    ],
)
def test_an_order_that_does_not_fit_says_why(
    order: str, valves: int, cylinders: str, field: str, words: str
) -> None:
    with pytest.raises(LayoutError) as refused:
        lay_out(order, valves, cylinders)
    assert refused.value.field == field
    assert words in refused.value.message


def test_neighbours_are_told_with_their_side() -> None:
    positions = lay_out("EIIEEIIE", 2)
    beside = neighbours(positions, positions[4])
    assert [(each.position.label, each.side) for each in beside] == [
        ("2E", Side.LEFT),
        ("3I", Side.RIGHT),
    ]
    assert beside[0].side.screen == "on its left"


@pytest.mark.parametrize(
    ("turned", "side"),
    [(0, Side.RIGHT), (90, Side.BELOW), (180, Side.LEFT), (270, Side.ABOVE)],
)
def test_sides_turn_by_quarters_with_the_map(turned: int, side: Side) -> None:
    positions = lay_out("EIIE", 2)
    assert [each.side for each in neighbours(positions, positions[0], turned)] == [side]


def test_a_head_turned_on_the_machine_turns_the_sides() -> None:
    positions = lay_out("II/EE", 4)
    straight = neighbours(positions, positions[0])
    turned = neighbours(positions, positions[0], turned=180)
    assert [(each.position.label, each.side) for each in straight] == [
        ("1I2", Side.RIGHT),
        ("1E1", Side.BELOW),
    ]
    assert [(each.position.label, each.side) for each in turned] == [
        ("1I2", Side.LEFT),
        ("1E1", Side.ABOVE),
    ]


@given(st.integers(1, 12), st.integers(2, 5))
def test_every_common_layout_can_be_laid_out(cylinders: int, valves: int) -> None:
    for layout in common_layouts(cylinders, valves):
        positions = lay_out(layout.order, valves)
        assert len(positions) == cylinders * valves
        assert len({position.label for position in positions}) == len(positions)
        assert written(layout.order) == layout.order


def test_common_layouts_of_four_cylinders_begin_with_the_mirrored_pairs() -> None:
    assert common_layouts(4, 2)[0].order == "EIIEEIIE"
    assert common_layouts(3, 2)[0].order == "EIIEEI"


@given(st.integers(1, 12), st.integers(2, 5), st.data())
def test_neighbours_are_mutual(cylinders: int, valves: int, data: st.DataObject) -> None:
    layout = data.draw(st.sampled_from(common_layouts(cylinders, valves)))
    positions = lay_out(layout.order, valves)
    here = data.draw(st.sampled_from(positions))
    for each in neighbours(positions, here):
        if each.side in (Side.LEFT, Side.RIGHT):
            back = [other.position for other in neighbours(positions, each.position)]
            assert here in back


@given(st.text(max_size=30), st.integers(-1, 7), st.text(max_size=12))
def test_any_typed_text_is_laid_out_or_refused_in_words(
    order: str, valves: int, cylinders: str
) -> None:
    positions: tuple[Position, ...] = ()
    message = ""
    try:
        positions = lay_out(order, valves, cylinders)
    except LayoutError as refused:
        message = refused.message
    assert bool(positions) != bool(message)
    message.encode()


def test_typed_cylinder_numbers_lose_leading_zeros() -> None:
    assert read_cylinders("01 03") == ("1", "3")
