"""Metal left beside a counterbore."""

import pytest

from app.calc.units import Length
from app.calc.wall import NOT_KNOWN, wall_left, web_left

CHECKS = {
    "web_left": "geometry of two circles; least webs of .060 to .080 in are common practice",
    "wall_left": "geometry; least walls of .100 in in iron and .125 in in aluminium are common "
    "practice",
}


def web(distance: str | None, bore: str = "1.622", neighbour: str = "1.688"):
    return web_left(
        centre_distance=None if distance is None else Length.of(distance),
        bore=Length.of(bore),
        neighbour_bore=Length.of(neighbour),
        least=Length.of(".060"),
    )


@pytest.mark.parametrize(
    ("distance", "left", "enough"),
    [("1.720", ".065", True), ("1.715", ".060", True), ("1.7149", ".0599", False)],
)
def test_a_web_is_the_distance_less_both_halves(distance: str, left: str, enough: bool):
    assert web(distance).left == Length.of(left)
    assert web(distance).is_enough is enough


def test_bores_that_overlap_leave_a_negative_web():
    assert web("1.650").left == Length.of("-.005")
    assert web("1.650").is_enough is False


def wall(now: str | None, bore: str = "1.6350"):
    return wall_left(
        wall_now=None if now is None else Length.of(now),
        bore_now=Length.of("1.6150"),
        bore=Length.of(bore),
        least=Length.of(".100"),
    )


def test_a_wall_thins_by_half_of_what_the_bore_grows():
    assert wall(".110").left == Length.of(".100")
    assert wall(".110").spare == Length(0)
    assert wall(".110").is_enough
    assert not wall(".1099").is_enough


def test_a_wall_nobody_measured_is_not_known_rather_than_enough():
    for found in (wall(None), web(None)):
        assert found.left is found.spare is found.is_enough is None
        assert any(step.value == NOT_KNOWN for step in found.working)
