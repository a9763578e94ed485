"""The drawings: what is drawn where, and what is said to those who cannot see it."""

from __future__ import annotations

import re

import pytest

from app.calc.units import Length
from app.paths import folder
from app.web.drawing import MapPosition, head_map, interference_scale, stage_ring
from app.web.drawing.stage_ring import StageState
from app.workflow.layout import lay_out
from app.workflow.words import StageState as Stated
from app.workflow.words import Work

DONE, NOW, TO_COME = "done", "now", "to_come"
AT_CUT: tuple[StageState, ...] = (DONE, DONE, DONE, NOW, TO_COME)
ALL_DONE: tuple[StageState, ...] = (DONE,) * 5


def positions(
    order: str, valves: int = 2, cylinders: str = "", here: str = "", **ring: object
) -> list[MapPosition]:
    """A head's positions as a page hands them over, all of them getting a ring."""
    return [
        MapPosition(
            label=each.label,
            port_id=each.place,
            cylinder=each.cylinder,
            kind=each.kind,
            row=each.row,
            work="ring",
            stages=AT_CUT,
            is_here=each.label == here,
            href=f"/ports/{each.place}",
            **ring,  # type: ignore[arg-type]
        )
        for each in lay_out(order, valves, cylinders)
    ]


def one(**changes: object) -> MapPosition:
    """A single position with something changed."""
    plain = {
        "label": "3E",
        "port_id": 7,
        "cylinder": "3",
        "kind": "E",
        "row": 1,
        "work": "ring",
        "stages": AT_CUT,
    }
    return MapPosition(**(plain | changes))  # type: ignore[arg-type]


def labels(order: str, turned: int, valves: int = 2) -> list[list[str]]:
    """The rows of each chamber as drawn."""
    drawn = head_map(positions(order, valves), "front", turned)  # type: ignore[arg-type]
    return [
        [" ".join(spot.label for spot in row) for row in chamber.rows] for chamber in drawn.chambers
    ]


# The stage ring


def test_a_ring_has_one_stroke_a_stage_and_two_for_the_stage_that_is_now() -> None:
    ring = stage_ring("3E", AT_CUT)
    assert [arc.state for arc in ring.arcs] == [DONE, DONE, DONE, NOW, NOW, TO_COME]


def test_the_strokes_differ_in_weight_so_that_they_read_without_colour() -> None:
    weight = {arc.state: arc.width for arc in stage_ring("3E", AT_CUT).arcs}
    assert weight[DONE] > 3 * weight[NOW] > 3 * weight[TO_COME]


def test_the_first_stage_begins_at_the_top_and_goes_clockwise() -> None:
    first, second, *_ = stage_ring("3E", ALL_DONE).arcs
    x0, y0, x1, y1 = ends(first.d)
    assert x0 > 50 > y0  # right of the middle, in the upper half
    assert x1 > x0
    assert y1 > y0
    assert ends(second.d)[1] > y1


def test_every_stroke_and_the_halo_stay_in_the_drawing() -> None:
    for arc in stage_ring("3E", (NOW,) * 5).arcs:
        for place in ends(arc.d):
            assert arc.width / 2 <= place <= 100 - arc.width / 2


def test_a_smaller_valve_has_a_smaller_ring() -> None:
    whole, small = stage_ring("3I", ALL_DONE), stage_ring("3E", ALL_DONE, scale=0.8)
    assert small.disc_radius == pytest.approx(whole.disc_radius * 0.8, abs=0.01)
    assert radius(small.arcs[0].d) == pytest.approx(radius(whole.arcs[0].d) * 0.8, abs=0.01)


@pytest.mark.parametrize(
    ("stages", "facts", "word"),
    [
        (AT_CUT, {}, "cut"),
        ((NOW, TO_COME, TO_COME, TO_COME, TO_COME), {}, "taken in"),
        ((DONE, TO_COME, TO_COME, TO_COME, TO_COME), {}, "measure to come"),
        ((DONE, DONE, DONE, DONE, NOW), {"ring_in": True}, "ring in"),
        ((DONE, DONE, DONE, DONE, NOW), {"on_hold": True}, "on hold"),
        (ALL_DONE, {"ring_in": True}, "done"),
        (ALL_DONE, {"ring_in": True, "on_hold": True}, "on hold"),
    ],
)
def test_one_word_says_where_a_position_stands(
    stages: tuple[StageState, ...], facts: dict[str, bool], word: str
) -> None:
    assert stage_ring("3E", stages, **facts).word == word


def test_a_small_ring_carries_the_number_of_its_stage() -> None:
    assert stage_ring("3E", AT_CUT).digit == "4"
    assert stage_ring("3E", ALL_DONE).digit == ""


def test_a_ring_needs_all_five_stages() -> None:
    with pytest.raises(ValueError, match="5 stages"):
        stage_ring("3E", (DONE, NOW))


# The head map


def test_positions_lie_in_their_true_order_with_the_numbering_end_at_the_left() -> None:
    assert labels("EIIEEIIE", 0) == [["1E 1I"], ["2I 2E"], ["3E 3I"], ["4I 4E"]]


def test_half_a_turn_shows_the_other_end_first() -> None:
    assert labels("EIIEEIIE", 180) == [["4E 4I"], ["3I 3E"], ["2E 2I"], ["1I 1E"]]


def test_a_quarter_turn_puts_the_numbering_end_on_top_and_the_upper_row_at_the_right() -> None:
    assert labels("IIII/EEEE", 90, valves=4) == [["1E1 1E2", "1I1 1I2"], ["2E1 2E2", "2I1 2I2"]]


def test_three_quarters_put_the_numbering_end_below_and_the_upper_row_at_the_left() -> None:
    assert labels("IIII/EEEE", 270, valves=4) == [["2I2 2I1", "2E2 2E1"], ["1I2 1I1", "1E2 1E1"]]


def test_two_rows_turned_by_half_swap_and_run_backwards() -> None:
    assert labels("IIII/EEEE", 180, valves=4) == [["2E2 2E1", "2I2 2I1"], ["1E2 1E1", "1I2 1I1"]]


@pytest.mark.parametrize(
    ("turned", "place", "lying"),
    [(0, "left", "across"), (90, "top", "down"), (180, "right", "across"), (270, "bottom", "down")],
)
def test_the_named_end_stands_where_the_head_lies(turned: int, place: str, lying: str) -> None:
    drawn = head_map(positions("EIIE"), "front", turned)  # type: ignore[arg-type]
    assert (drawn.end_place, drawn.lying) == (place, lying)
    assert drawn.end_label == "front"


def test_four_touches_turn_the_map_all_the_way_round() -> None:
    turned = [0]
    for _ in range(4):
        turned.append(head_map(positions("EIIE"), "front", turned[-1]).next_turn)  # type: ignore[arg-type]
    assert turned == [0, 90, 180, 270, 0]


def test_typed_cylinder_numbers_keep_their_order() -> None:
    drawn = head_map(positions("EIIEEIIE", cylinders="1-3-5-7"), "front")
    assert [chamber.cylinder for chamber in drawn.chambers] == ["1", "3", "5", "7"]


def test_intakes_are_drawn_larger_until_real_sizes_are_known() -> None:
    drawn = {spot.label: spot for spot in head_map(positions("EIIE"), "front").spots}
    assert drawn["1I"].plain_radius > drawn["1E"].plain_radius


def test_real_sizes_decide_once_all_are_known() -> None:
    drawn = head_map([one(label="3E", size=41.0), one(label="3I", kind="I", size=36.9)], "front")
    exhaust, intake = drawn.spots
    assert exhaust.plain_radius > intake.plain_radius


def test_no_position_is_drawn_too_small_to_read() -> None:
    drawn = head_map([one(label="3E", size=10.0), one(label="3I", kind="I", size=50.0)], "front")
    assert drawn.spots[0].plain_radius >= 0.7 * drawn.spots[1].plain_radius


def test_five_valves_stand_in_two_rows_in_one_chamber() -> None:
    drawn = head_map(positions("IIIIII/EEEE", 5), "front")
    assert [[len(row) for row in chamber.rows] for chamber in drawn.chambers] == [[3, 2], [3, 2]]
    assert drawn.along == 6


@pytest.mark.parametrize("cylinders", range(1, 9))
@pytest.mark.parametrize("valves", [2, 3, 4, 5])
@pytest.mark.parametrize("turned", [0, 90, 180, 270])
def test_every_position_is_drawn_once_or_is_one_touch_away(
    cylinders: int, valves: int, turned: int
) -> None:
    intakes = (valves + 1) // 2
    order = "I" * intakes * cylinders + "/" + "E" * (valves - intakes) * cylinders
    everyone = positions(order, valves)
    drawn = head_map(everyone, "front", turned)  # type: ignore[arg-type]
    shown = [spot.label for spot in drawn.spots]
    if drawn.other_half:
        other = head_map(everyone, "front", turned, half=drawn.other_half)  # type: ignore[arg-type]
        shown += [spot.label for spot in other.spots]
        assert other.other_half == drawn.half
    assert sorted(shown) == sorted(position.label for position in everyone)
    assert len(drawn.spots) <= 24


def test_twenty_four_positions_are_shown_whole() -> None:
    assert head_map(positions("II" * 6 + "/" + "EE" * 6, 4), "front").other_half is None


def test_above_twenty_four_the_half_being_worked_is_shown() -> None:
    drawn = head_map(positions("II" * 8 + "/" + "EE" * 8, 4, here="7E1"), "front")
    assert [chamber.cylinder for chamber in drawn.chambers] == ["5", "6", "7", "8"]
    assert drawn.other_half == "first"
    assert drawn.other_half_words == "cylinders 1 to 4"
    assert drawn.name == "Head map, front at the left, cylinders 5 to 8 only"


def test_a_long_head_beside_the_work_widens_before_it_shrinks() -> None:
    assert not head_map(positions("EIIEEIIE"), "front", 90).is_staggered
    assert head_map(positions("EIIEEIIEEIIE"), "front", 90).is_staggered
    assert not head_map(positions("EIIEEIIEEIIE"), "front", 0).is_staggered


def test_every_position_is_called_by_its_long_name_and_its_state() -> None:
    drawn = head_map(
        [
            one(stages=(DONE, DONE, DONE, DONE, NOW), ring_in=True),
            one(label="3I", kind="I", work="seat only"),
            one(label="4E", cylinder="4", on_hold=True),
            one(label="4I", cylinder="4", kind="I", work="leave"),
        ],
        "front",
    )
    assert [spot.name for spot in drawn.spots] == [
        "3E, cylinder 3 exhaust: ring in",
        "3I, cylinder 3 intake: seat only",
        "4E, cylinder 4 exhaust: on hold",
        "4I, cylinder 4 intake: leave",
    ]


def test_where_there_are_two_of_a_kind_the_name_tells_them_apart() -> None:
    names = [
        spot.name for spot in head_map(positions("II/EE", 4, here="1E2", on_hold=True), "x").spots
    ]
    assert names[2:] == [
        "1E1, cylinder 1 exhaust 1: on hold",
        "1E2, cylinder 1 exhaust 2: on hold, you are here",
    ]


def test_a_position_without_a_ring_is_a_plain_circle_with_its_work() -> None:
    spot = head_map([one(work=Work.SEAT_ONLY)], "front").spots[0]
    assert spot.ring is None
    assert (spot.word, spot.short_word) == ("seat only", "seat")


def test_the_vocabulary_of_the_workflow_is_understood() -> None:
    stages = (Stated.DONE, Stated.DONE, Stated.NOW, Stated.TO_COME, Stated.TO_COME)
    spot = head_map([one(work=Work.RING, stages=stages)], "front").spots[0]
    assert spot.ring is not None
    assert spot.name == "3E, cylinder 3 exhaust: at set"


def test_a_head_map_needs_a_position() -> None:
    with pytest.raises(ValueError, match="at least one"):
        head_map([], "front")


def test_a_head_has_at_most_two_rows() -> None:
    with pytest.raises(ValueError, match="one row or two"):
        head_map([one(row=1), one(label="3I", row=2), one(label="4E", row=3)], "front")


# The interference scale


def test_the_sure_part_is_the_window_less_the_possible_error() -> None:
    drawn = interference_scale(
        least=Length.of(".0030"), most=Length.of(".0050"), possible_error=Length.of(".0004")
    )
    assert drawn.sure is not None
    assert (drawn.sure.low.figure, drawn.sure.high.figure) == (".0034", ".0046")
    assert percent(drawn.window.low.x) < percent(drawn.sure.low.x)
    assert percent(drawn.sure.high.x) < percent(drawn.window.high.x)


def test_shown_limits_subtract_even_when_the_error_has_a_digit_more() -> None:
    drawn = interference_scale(
        least=Length.of(".0030"), most=Length.of(".0050"), possible_error=Length.of(".00035")
    )
    assert drawn.sure is not None
    assert (drawn.sure.low.figure, drawn.sure.high.figure) == (".00335", ".00465")


def test_an_error_as_wide_as_the_window_leaves_nothing_sure_and_says_so() -> None:
    drawn = interference_scale(
        least=Length.of(".0030"), most=Length.of(".0040"), possible_error=Length.of(".0006")
    )
    assert drawn.sure is None
    assert drawn.leaves_none
    assert "the possible error is as wide as the window" in drawn.name


def test_the_measured_value_stands_where_it_belongs_with_its_whisker() -> None:
    drawn = interference_scale(
        least=Length.of(".0030"),
        most=Length.of(".0050"),
        measured=Length.of(".0040"),
        possible_error=Length.of(".0004"),
    )
    assert drawn.measured is not None
    middle = percent(drawn.measured.x)
    assert middle == pytest.approx(50)
    assert percent(drawn.measured.whisker_to) - middle == pytest.approx(
        middle - percent(drawn.measured.whisker_from)
    )
    assert drawn.measured.figure == ".00400"
    assert drawn.measured.error_figure == ".00040"


@pytest.mark.parametrize(("measured", "side"), [("-.0005", "low"), (".0100", "high")])
def test_a_value_off_the_scale_stays_in_the_drawing_and_says_so(measured: str, side: str) -> None:
    drawn = interference_scale(
        least=Length.of(".0030"), most=Length.of(".0050"), measured=Length.of(measured)
    )
    assert drawn.measured is not None
    assert drawn.measured.off_scale == side
    assert 0 <= percent(drawn.measured.x) <= 100
    assert 10 <= percent(drawn.measured.text_x) <= 90
    assert drawn.name.endswith("off the drawn scale")


def test_the_scale_says_the_whole_picture_in_words() -> None:
    drawn = interference_scale(
        least=Length.of(".0030"),
        most=Length.of(".0050"),
        measured=Length.of(".00395"),
        possible_error=Length.of(".0004"),
    )
    assert drawn.name == (
        "Interference .00395 inch, give or take .00040; window .0030 to .0050; "
        "inside even with the possible error .0034 to .0046"
    )


def test_in_millimetres_the_measured_has_one_digit_more_than_its_limits() -> None:
    drawn = interference_scale(
        least=Length.of("0.10", "mm"),
        most=Length.of("0.15", "mm"),
        measured=Length.of("0.1234", "mm"),
        unit="mm",
    )
    assert drawn.measured is not None
    assert (drawn.window.low.figure, drawn.measured.figure) == ("0.100", "0.1234")


def test_nothing_is_drawn_as_measured_before_it_is() -> None:
    drawn = interference_scale(least=Length.of(".0030"), most=Length.of(".0050"))
    assert drawn.measured is None
    assert drawn.name.startswith("Interference in inch, not measured yet")


# The colours

# Foreground, the grounds it stands on, the least contrast: 7 for figures and warnings, 4.5 for
# other words, 3 for lines and marks that carry a meaning (WCAG 2.2, 1.4.3, 1.4.6 and 1.4.11).
CONTRASTS = [
    ("ink", "paper card well chamber cast brass-wash stop-wash dye-wash sure-wash", 7.0),
    ("paper", "ink", 7.0),
    ("on-dye", "dye", 7.0),
    ("dye", "dye-wash", 7.0),
    ("brass-ink", "brass-wash paper card", 7.0),
    ("stop-ink", "stop-wash card paper chamber", 7.0),
    ("sure-ink", "sure-wash card", 7.0),
    ("on-strip", "strip", 7.0),
    ("soft", "paper card well chamber brass-wash stop-wash dye-wash", 4.5),
    ("dye", "paper card chamber", 4.5),
    ("dye-line", "paper card brass-wash", 4.5),
    ("on-dye", "dye-line", 4.5),
    ("on-strip", "strip-here", 4.5),
    ("strip-soft", "strip strip-here", 4.5),
    ("on-wait", "wait", 4.5),
    ("card", "brass-ink", 4.5),
    ("brass", "paper card brass-wash chamber", 3.0),
    ("stop", "paper card stop-wash chamber", 3.0),
    ("sure", "card sure-wash", 3.0),
    ("edge", "paper card well", 3.0),
    ("scribe", "paper card chamber", 3.0),
    ("cast-edge", "paper card", 3.0),
    ("focus", "paper card well", 3.0),
]


def schemes() -> dict[str, dict[str, str]]:
    """The tokens of each scheme, as the style sheet gives them."""
    css = (folder("static") / "app.css").read_text(encoding="utf-8")
    found = {
        "light": r":root \{\s*color-scheme: light;(.*?)\}",
        "dark": r':root\[data-theme="dark"\] \{(.*?)\}',
        "dark by the system": r':root:not\(\[data-theme="light"\]\) \{(.*?)\}',
    }
    return {
        name: dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", re.search(rule, css, re.S)[1]))  # type: ignore[index]
        for name, rule in found.items()
    }


def contrast(first: str, second: str) -> float:
    """Contrast ratio of two sRGB colours, WCAG 2.2."""
    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_contrast_is_reckoned_as_the_guideline_does() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("mark", "grounds", "least"), CONTRASTS)
def test_every_colour_can_be_read_on_its_ground(
    scheme: str, mark: str, grounds: str, least: float
) -> None:
    tokens = schemes()[scheme]
    for ground in grounds.split():
        ratio = contrast(tokens[mark], tokens[ground])
        assert ratio >= least, f"{mark} on {ground}: {ratio:.2f}"


def test_both_ways_into_the_dark_scheme_give_the_same_colours() -> None:
    found = schemes()
    assert found["dark"] == found["dark by the system"]
    assert set(found["dark"]) == set(found["light"])


def test_colours_are_named_in_the_tokens_alone() -> None:
    css = (folder("static") / "app.css").read_text(encoding="utf-8")
    outside = re.sub(r"--[\w-]+: #[0-9a-f]{6};", "", css)
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b|rgba?\(|hsla?\(", outside) == []


# Reading a path back


def ends(d: str) -> tuple[float, float, float, float]:
    x0, y0, _, _, x1, y1 = (
        float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", d.replace(" 0 0 1 ", " "))
    )
    return x0, y0, x1, y1


def radius(d: str) -> float:
    return float(re.search(r"A(\d+(?:\.\d+)?)", d)[1])  # type: ignore[index]


def percent(text: str) -> float:
    return float(text.removesuffix("%"))
