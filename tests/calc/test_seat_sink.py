"""How far a valve sinks: two half sections in shapely, the valve let down until it touches."""

from math import cos, radians, tan

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon, intersection_all
from shapely.affinity import translate

from app.calc.errors import CalculationError
from app.calc.seat_cuts import cuts_for_land
from app.calc.seat_sink import ValveSink, valve_sink
from app.calc.units import Length
from tests.calc.half_section import Cone

CHECKS = {"valve_sink": "`shapely`: a valve let down on the section before and after the cuts"}

MM = 1_000_000


def mm(size: float) -> Length:
    return Length.of(str(size), "mm")


def sunk(**change) -> ValveSink:
    asked = {
        "outer": mm(34.8),
        "inner": mm(32.4),
        "outer_after": mm(34.4),
        "inner_after": mm(32.8),
        "seat_angle_deg": 45,
        "seat_sink": Length(0),
        "face_outer": mm(36),
        "face_angle_deg": 45,
        **change,
    }
    return valve_sink(**asked)


def metal(outer: float, inner: float, drop: float, angles: tuple[float, float, float]) -> Polygon:
    """What lies below the three cones that meet at a land's edges, in mm."""
    slope = tan(radians(angles[1]))
    # The seat's cone goes through (0, −drop): its edges follow from it.
    edges = [(d / 2, d / 2 * slope - drop) for d in (outer, inner)]
    cones = [
        Cone(*edges[0], angles[0]),
        Cone(*edges[0], angles[1]),
        Cone(*edges[1], angles[2]),
    ]
    return intersection_all([cone.metal for cone in cones])


def valve(face_outer: float, face_inner: float, angle: float) -> Polygon:
    """A face with what stands above it, its line through the axis at height 0."""
    slope = tan(radians(angle))
    low, high = face_inner / 2, face_outer / 2
    return Polygon([(low, low * slope), (high, high * slope), (high, 500), (low, 500)])


def rests_at(section: Polygon, shape: Polygon) -> float:
    """How high the valve stands when it just touches: halved until nothing is left to halve."""
    low, high = -100.0, 100.0
    for _ in range(60):
        middle = (low + high) / 2
        if translate(shape, yoff=middle).intersects(section):
            low = middle
        else:
            high = middle
    return high


@settings(max_examples=60)
@given(
    st.integers(30_000, 50_000),
    st.integers(1_000, 4_000),
    st.integers(-1_000, 1_000),
    st.integers(500, 3_000),
    st.integers(-500, 3_000),
    st.sampled_from([(30, 45, 60), (15, 45, 75), (15, 30, 60), (32, 46, 70)]),
    st.sampled_from([-2, -1, -0.5, 0, 0.5, 1, 2]),
)
def test_the_valve_sinks_as_two_sections_say(outer, across, shift, width, past, angles, apart):
    """shapely, in mm: the same valve on the land as it is and on the land as it is wanted."""
    top, seat, throat = angles
    outer_mm, inner_mm, wanted = outer / 1000, (outer - across) / 1000, (outer + shift) / 1000
    cuts = cuts_for_land(
        outer=mm(outer_mm),
        inner=mm(inner_mm),
        seat_angle_deg=seat,
        outer_wanted=mm(wanted),
        width_wanted=Length(width * 1000),
        top_angle_deg=top,
        throat_angle_deg=throat,
    )
    face_outer, face_angle = outer_mm + past / 1000, seat + apart
    inner_wanted = wanted - 2 * width / 1000 * cos(radians(seat))
    assume(face_outer > max(inner_mm, inner_wanted) + 0.01)
    found = valve_sink(
        outer=mm(outer_mm),
        inner=mm(inner_mm),
        outer_after=cuts.outer_wanted,
        inner_after=cuts.inner_wanted,
        seat_angle_deg=seat,
        seat_sink=cuts.seat_sink,
        face_outer=mm(face_outer),
        face_angle_deg=face_angle,
    )
    shape = valve(face_outer, min(inner_mm, inner_wanted) - 2, face_angle)
    before = rests_at(metal(outer_mm, inner_mm, 0, angles), shape)
    after = rests_at(
        metal(wanted, cuts.inner_wanted.nm / MM, cuts.seat_sink.nm / MM, angles), shape
    )
    assert found.sink.nm / MM == pytest.approx(before - after, abs=3e-5)


def test_a_face_at_the_seats_angle_sinks_by_the_seat_cut_alone():
    assert sunk(seat_sink=mm(0.1)).sink == mm(0.1)
    assert sunk().sink == Length(0)


def test_a_flatter_face_follows_the_outer_edge_and_a_steeper_one_the_inner():
    flatter, steeper = sunk(face_angle_deg=44), sunk(face_angle_deg=46)
    assert (flatter.rests_on, flatter.rests_on_after) == (mm(34.8), mm(34.4))
    assert (steeper.rests_on, steeper.rests_on_after) == (mm(32.4), mm(32.8))
    assert flatter.sink.nm > 0
    assert steeper.sink.nm > 0


def test_a_land_past_the_valves_edge_carries_it_on_its_edge():
    assert sunk(face_angle_deg=44, outer=mm(36.6)).rests_on == mm(36)


def test_the_shown_lines_add_up():
    lines = [step.value for step in sunk(face_angle_deg=44, seat_sink=mm(0.1)).working[2:]]
    assert float(lines[0]) + float(lines[1]) == pytest.approx(float(lines[2]))


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"inner": mm(35)}, "inner"),
        ({"inner_after": mm(34.4)}, "inner_after"),
        ({"face_angle_deg": 0}, "face_angle_deg"),
        ({"face_outer": mm(32)}, "face_outer"),
        ({"face_inner": mm(35)}, "face_outer"),
    ],
)
def test_a_valve_that_finds_no_land_is_refused(change: dict, field: str):
    with pytest.raises(CalculationError) as refused:
        sunk(**change)
    assert refused.value.field == field
