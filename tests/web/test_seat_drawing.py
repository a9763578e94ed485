"""The section of a seat is drawn to scale: its points, measured back, are shapely's."""

from __future__ import annotations

import re
from cmath import phase
from dataclasses import dataclass
from itertools import pairwise
from math import degrees, hypot
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, intersection_all
from shapely.affinity import translate

from app.calc.seat import seat_land
from app.calc.seat_cuts import cuts_for_land
from app.calc.seat_sink import valve_sink
from app.calc.units import Length
from app.web.drawing.seat import Angles, Face, Land, SeatDrawing, seat_drawing
from app.web.render import environment
from tests.calc.half_section import cones_of

MM = 1_000_000
# Points are printed to a thousandth of a pixel.
PRINTED = 0.002
TEMPLATE = '{% from "_partials/seat_section.html" import seat_section %}{{ seat_section(drawn) }}'


def mm(size: float) -> Length:
    return Length.of(f"{size:.6f}", "mm")


@dataclass(frozen=True)
class Asked:
    """What is drawn, in mm."""

    outer: float = 38.9
    inner: float = 35.7
    wanted: float = 38.6
    width: float = 1.8
    angles: tuple[float, float, float] = (30, 45, 60)
    head: float | None = 39.6
    face_angle: float = 44

    @property
    def drawing(self) -> SeatDrawing:
        top, seat, throat = self.angles
        cuts = cuts_for_land(
            outer=mm(self.outer),
            inner=mm(self.inner),
            seat_angle_deg=seat,
            outer_wanted=mm(self.wanted),
            width_wanted=mm(self.width),
            top_angle_deg=top,
            throat_angle_deg=throat,
        )
        lands = ((mm(self.outer), mm(self.inner)), (cuts.outer_wanted, cuts.inner_wanted))
        worked = [seat_land(outer=o, inner=i, seat_angle_deg=seat) for o, i in lands]
        rests: tuple[Length | None, Length | None] = (None, None)
        if self.head is not None:
            sink = valve_sink(
                outer=lands[0][0],
                inner=lands[0][1],
                outer_after=lands[1][0],
                inner_after=lands[1][1],
                seat_angle_deg=seat,
                seat_sink=cuts.seat_sink,
                face_outer=mm(self.head),
                face_angle_deg=self.face_angle,
            )
            rests = (sink.rests_on, sink.rests_on_after)
        drawn = [
            Land(
                title=title,
                outer=outer,
                inner=inner,
                width=land.width,
                projected=land.width_projected,
                drop=drop,
                rests_on=on,
                clear_outside=None if on is None else Length(0),
            )
            for title, (outer, inner), land, drop, on in zip(
                ("As it is", "As wanted"),
                lands,
                worked,
                (Length(0), cuts.seat_sink),
                rests,
                strict=True,
            )
        ]
        return seat_drawing(
            now=drawn[0],
            wanted=drawn[1],
            angles=Angles(*self.angles),
            unit="mm",
            ring_outside=mm(41.3),
            ring_inside=mm(34.9),
            face=None if self.head is None else Face(mm(self.head), self.face_angle),
        )


class Picture:
    """A rendered drawing, measured with its own scale bar."""

    def __init__(self, drawn: SeatDrawing) -> None:
        html = environment().from_string(TEMPLATE).render(drawn=drawn)
        svg = re.search(r"<svg.*</svg>", html, re.S)
        assert svg is not None
        self.root = ET.fromstring(svg[0])
        bar = next(one for one in self.root if one.get("class") == "bar")
        told = next(one.text for one in self.root if one.tag == "text")
        assert told is not None
        length = float(told.split()[0])
        assert "both drawn to this scale" in told
        self.per_mm = (float(bar.get("x2", "")) - float(bar.get("x1", ""))) / length
        self.sections = [one for one in self.root if one.get("class") == "section"]

    def points(self, n: int, role: str) -> list[tuple[float, float]]:
        """Points of a line or an outline of a section, in pixels of its panel; y upward."""
        found = next(one for one in self.sections[n] if one.get("class") == role)
        pairs = (pair.split(",") for pair in found.get("points", "").split())
        return [(float(x), -float(y)) for x, y in pairs]

    def has(self, n: int, role: str) -> bool:
        return any(one.get("class") == role for one in self.sections[n])


def measured(picture: Picture, n: int, role: str, asked: Asked) -> list[tuple[float, float]]:
    """Points as millimetres from the valve's axis, the land's first inner edge at height 0."""
    x0, y0 = picture.points(0, "land")[1]
    return [
        (asked.inner / 2 + (x - x0) / picture.per_mm, (y - y0) / picture.per_mm)
        for x, y in picture.points(n, role)
    ]


def sections_of(asked: Asked) -> tuple[Polygon, Polygon]:
    """shapely: the metal under three cones, and the same with the cutters sunk into it."""
    top, seat, throat = asked.angles
    cuts = cuts_for_land(
        outer=mm(asked.outer),
        inner=mm(asked.inner),
        seat_angle_deg=seat,
        outer_wanted=mm(asked.wanted),
        width_wanted=mm(asked.width),
        top_angle_deg=top,
        throat_angle_deg=throat,
    )
    seat_cone, top_cone, throat_cone = cones_of(asked.outer, asked.inner, seat, top, throat)
    before = [seat_cone, top_cone, throat_cone]
    # Each cutter is fed down from where it first touches the land as the seat cut left it.
    after = [
        seat_cone.sunk(cuts.seat_sink.nm / MM),
        top_cone.sunk(cuts.top_sink.nm / MM),
        throat_cone.sunk(cuts.throat_sink.nm / MM),
    ]
    lift = -cones_of(asked.outer, asked.inner, seat, top, throat)[2].z
    now, cut = (intersection_all([cone.metal for cone in cones]) for cones in (before, after))
    return translate(now, yoff=lift), translate(now.intersection(cut), yoff=lift)


cases = st.builds(
    Asked,
    outer=st.integers(38_000, 39_500).map(lambda um: um / 1000),
    inner=st.integers(35_000, 36_500).map(lambda um: um / 1000),
    wanted=st.integers(37_800, 39_500).map(lambda um: um / 1000),
    width=st.integers(800, 2_200).map(lambda um: um / 1000),
    angles=st.sampled_from([(30, 45, 60), (15, 45, 75), (15, 30, 60), (32, 46, 70)]),
    head=st.none(),
)


@settings(max_examples=40, deadline=None)
@given(cases)
def test_both_sections_are_what_shapely_cuts(asked: Asked) -> None:
    """Every drawn corner lies on the edge of the metal that three sunk cones leave."""
    picture = Picture(asked.drawing)
    near = PRINTED / picture.per_mm + 3e-5
    for n, metal in enumerate(sections_of(asked)):
        for corner in measured(picture, n, "surface", asked)[:3]:
            assert metal.exterior.distance(Point(corner)) < near


@settings(max_examples=40, deadline=None)
@given(cases)
def test_the_land_measures_what_is_written_beside_it(asked: Asked) -> None:
    """By hand: its length in pixels over the bar's pixels for a millimetre."""
    picture = Picture(asked.drawing)
    near = 2 * PRINTED / picture.per_mm
    (outer, _), (outer_then, inner_then) = (measured(picture, n, "land", asked) for n in range(2))
    assert hypot(outer_then[0] - inner_then[0], outer_then[1] - inner_then[1]) == pytest.approx(
        asked.width, abs=near + 1e-5
    )
    assert 2 * outer[0] == pytest.approx(asked.outer, abs=2 * near)
    assert 2 * outer_then[0] == pytest.approx(asked.wanted, abs=2 * near)


def test_an_angle_on_the_paper_is_the_angle_of_the_cutter() -> None:
    surface = Picture(Asked().drawing).points(0, "surface")
    slopes = [degrees_of(low, high) for high, low in pairwise(surface[:4])]
    assert slopes == pytest.approx([30, 45, 60], abs=0.01)


def degrees_of(low: tuple[float, float], high: tuple[float, float]) -> float:
    return degrees(phase(complex(high[0] - low[0], high[1] - low[1])))


@pytest.mark.parametrize("face_angle", [44, 45, 46])
def test_the_valve_rests_on_the_metal_without_entering_it(face_angle: float) -> None:
    """shapely: the drawn valve touches the drawn metal and covers none of it, before and after."""
    asked = Asked(face_angle=face_angle)
    picture = Picture(asked.drawing)
    for n, metal in enumerate(sections_of(asked)):
        face = LineString(measured(picture, n, "face", asked)[:2])
        near = 2 * PRINTED / picture.per_mm + 3e-5
        assert metal.distance(face) < near
        assert face.intersection(metal.buffer(-near)).length == 0
        assert picture.has(n, "touch") == (face_angle != 45)


def test_the_metal_as_it_was_is_drawn_where_it_was() -> None:
    picture = Picture(Asked().drawing)
    assert picture.points(1, "was") == picture.points(0, "surface")
    assert not picture.has(0, "was")


def test_the_ring_ends_at_its_outside_and_its_bore() -> None:
    asked = Asked()
    ring = measured(Picture(asked.drawing), 0, "metal ring", asked)
    assert 2 * max(r for r, _ in ring) == pytest.approx(41.3, abs=1e-3)
    assert 2 * min(r for r, _ in ring) >= 34.9 - 1e-3


def test_every_figure_stands_in_the_picture_and_in_its_words() -> None:
    drawn = Asked().drawing
    figures = " ".join(note.text for note in drawn.panels[1].notes)
    for figure in ("1.800 at 45°", "⌀ 38.600", "⌀ 36.054", "projected 1.273", "top 30°"):
        assert figure in figures
    assert "as wanted: outer diameter 38.600, inner 36.054, sloping width 1.800" in drawn.name


def test_nothing_runs_out_of_its_panel() -> None:
    drawn = Asked().drawing
    width, height = float(drawn.width), float(drawn.height)
    for panel in drawn.panels:
        for role in (panel.surface, panel.metal, panel.ring, panel.valve, panel.face):
            for pair in role.split():
                x, y = map(float, pair.split(","))
                assert -0.01 <= x <= (width - 16) / 2 + 0.01
                assert 0 <= y <= height


def test_a_valve_that_finds_no_land_is_not_drawn() -> None:
    drawn = Asked(head=None).drawing
    assert not drawn.has_valve
    assert not any(panel.valve or panel.face or panel.touch for panel in drawn.panels)
