"""The cuts for a wanted land, put into a half section that is cut by them."""

from math import cos, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.seat import seat_land
from app.calc.seat_cuts import SeatCuts, cuts_for_land
from app.calc.units import Length
from tests.calc.half_section import cones_of, land_of

CHECKS = {
    "cuts_for_land": "half section cut by cones in `shapely`; and back through the forward question"
}

MM = 1_000_000


def mm(size: float) -> Length:
    return Length.of(str(size), "mm")


def cuts(outer_wanted: Length, width_wanted: Length, **change: float) -> SeatCuts:
    asked = {"seat_angle_deg": 45, "top_angle_deg": 30, "throat_angle_deg": 60, **change}
    return cuts_for_land(
        outer=mm(34.8),
        inner=mm(32.4),
        outer_wanted=outer_wanted,
        width_wanted=width_wanted,
        **asked,
    )


def test_a_land_to_be_narrowed_needs_top_and_throat_alone():
    found = cuts(mm(34.5), mm(1.2))
    assert found.seat_sink == Length(0)
    top = seat_land(
        outer=mm(34.8),
        inner=mm(32.4),
        seat_angle_deg=45,
        cutter_angle_deg=30,
        sink=found.top_sink,
    )
    throat = seat_land(
        outer=top.new_diameter,
        inner=mm(32.4),
        seat_angle_deg=45,
        cutter_angle_deg=60,
        sink=found.throat_sink,
    )
    assert abs((top.new_diameter - mm(34.5)).nm) <= 3
    assert abs((throat.new_width - mm(1.2)).nm) <= 6


def test_a_land_that_is_wanted_wider_is_first_cut_deeper():
    found = cuts(mm(34.8), mm(2.0))
    assert found.seat_sink.nm > 0
    assert found.top_sink.nm > 0
    assert found.throat_sink == Length(0)
    assert found.outer_after_seat > mm(34.8)


def test_a_land_wanted_further_out_sinks_the_valve():
    found = cuts(mm(35.2), mm(1.2))
    assert found.seat_sink.nm / MM == pytest.approx(0.4 / 4.73205, abs=1e-5)
    assert found.top_sink == Length(0)
    assert found.throat_sink.nm > 0


def test_a_land_that_is_right_needs_no_cut():
    land = seat_land(outer=mm(34.8), inner=mm(32.4), seat_angle_deg=45)
    found = cuts(mm(34.8), land.width)
    assert max(found.seat_sink.nm, found.top_sink.nm, found.throat_sink.nm) <= 1


@given(
    st.integers(20_000, 60_000),
    st.integers(500, 4_000),
    st.integers(-1_500, 1_500),
    st.integers(300, 3_000),
    st.sampled_from([(30, 45, 60), (15, 45, 75), (15, 30, 60), (32, 46, 70)]),
)
def test_the_cuts_leave_the_wanted_land_in_a_half_section(outer, across, shift, width, angles):
    """shapely: three cones, sunk by the three answers."""
    top, seat, throat = angles
    outer_mm, inner_mm = outer / 1000, (outer - across) / 1000
    wanted = (outer + shift) / 1000
    found = cuts_for_land(
        outer=mm(outer_mm),
        inner=mm(inner_mm),
        seat_angle_deg=seat,
        outer_wanted=mm(wanted),
        width_wanted=Length(width * 1000),
        top_angle_deg=top,
        throat_angle_deg=throat,
    )
    seat_cone, top_cone, throat_cone = cones_of(outer_mm, inner_mm, seat, top, throat)
    # The top and throat cutters first touch the land that the seat cut left: from there the
    # depth counts, so cones that stayed behind are brought to the new edges.
    section = land_of(
        list(
            _recut(
                found.outer_after_seat.nm / MM,
                found.inner_after_seat.nm / MM,
                angles,
                found.top_sink.nm / MM,
                found.throat_sink.nm / MM,
            )
        ),
        seat,
    )
    assert section is not None
    assert section.outer == pytest.approx(wanted, abs=2e-5)
    assert section.width == pytest.approx(width / 1000, abs=4e-5)
    grown = land_of([seat_cone.sunk(found.seat_sink.nm / MM), top_cone, throat_cone], seat)
    assert grown is not None
    assert grown.outer == pytest.approx(found.outer_after_seat.nm / MM, abs=2e-5)
    assert grown.inner == pytest.approx(found.inner_after_seat.nm / MM, abs=2e-5)


def _recut(outer, inner, angles, top_sink, throat_sink):
    top, seat, throat = angles
    seat_cone, top_cone, throat_cone = cones_of(outer, inner, seat, top, throat)
    return seat_cone, top_cone.sunk(top_sink), throat_cone.sunk(throat_sink)


def test_the_inner_diameter_follows_from_place_and_width():
    found = cuts(mm(34.5), mm(1.2))
    assert found.inner_wanted.nm / MM == pytest.approx(34.5 - 2.4 * cos(radians(45)), abs=1e-6)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"top_angle_deg": 45}, "top_angle_deg"),
        ({"throat_angle_deg": 45}, "throat_angle_deg"),
        ({"throat_angle_deg": 90}, "throat_angle_deg"),
        ({"top_angle_deg": 0}, "top_angle_deg"),
    ],
)
def test_cutters_that_cannot_trim_this_land_are_refused(change: dict, field: str):
    with pytest.raises(CalculationError) as refused:
        cuts(mm(34.5), mm(1.2), **change)
    assert refused.value.field == field


@pytest.mark.parametrize("width", [Length(0), mm(30)])
def test_a_width_that_cannot_be_is_refused(width: Length):
    with pytest.raises(CalculationError) as refused:
        cuts(mm(34.5), width)
    assert refused.value.field == "width_wanted"
