"""What is said of a seat: in words, conditional, and never that it is safe."""

from __future__ import annotations

import pytest

from app.calc.seat_valve import ValveContact, valve_contact
from app.calc.units import Length
from app.workflow.kinds import Unit
from app.workflow.seats import (
    RingEdges,
    WidthWindow,
    contact_advice,
    first,
    ring_advice,
    seat_words,
    size_words,
    width_advice,
)
from app.workflow.words import Kind

IN = Length.of
WINDOW = WidthWindow(IN(".050"), IN(".100"), "the shop")
RING = RingEdges(IN("1.6262"), IN("1.376"))


def contact(face_angle: float = 45, head: str = "1.560", inner: str | None = None) -> ValveContact:
    return valve_contact(
        outer=IN("1.520"),
        inner=IN("1.421"),
        seat_angle_deg=45,
        face_outer=IN(head),
        face_inner=IN(inner) if inner else None,
        face_angle_deg=face_angle,
    )


def said(found: ValveContact, face_angle: float = 45) -> dict[str, str]:
    advice = contact_advice(
        contact=found,
        seat_angle_deg=45,
        face_angle_deg=face_angle,
        clear=IN("1/64"),
        clear_source="the shop",
        unit=Unit.INCH,
    )
    return {one.key: one.words for one in advice}


@pytest.mark.parametrize(
    ("typed", "unit", "words"),
    [
        (".07", Unit.INCH, ".070"),
        ("1.48", Unit.INCH, "1.480"),
        ("1.4805", Unit.INCH, "1.4805"),
        ("1.5 mm", Unit.MM, "1.50"),
        ("38.125 mm", Unit.MM, "38.125"),
    ],
)
def test_a_size_is_said_with_the_figures_it_has(typed: str, unit: Unit, words: str) -> None:
    assert size_words(IN(typed), unit) == words


def test_what_is_wanted_is_one_line() -> None:
    asked = {"seat_angle_deg": 45, "top_angle_deg": 30, "throat_angle_deg": 60}
    told = seat_words(kind=Kind.EXHAUST, width=IN(".07"), outer=IN("1.48"), unit=Unit.INCH, **asked)
    assert told == "exhaust: 45°, top 30°, throat 60°, land .070 wide, outer edge 1.480"
    assert seat_words(kind=Kind.INTAKE, width=None, outer=None, unit=Unit.INCH, **asked) == (
        "intake: 45°, top 30°, throat 60°"
    )


@pytest.mark.parametrize(
    ("face", "says"),
    [
        (45, "both have one angle"),
        (44, "first at the land's outer edge: its face is 1° flatter"),
        (45.5, "first at the land's inner edge: its face is 0.5° steeper"),
    ],
)
def test_where_the_valve_touches_first_is_said(face: float, says: str) -> None:
    assert says in said(contact(face), face)["touch"]


def test_a_land_over_the_valves_edge_is_said() -> None:
    words = said(contact(head="1.510"))
    assert "reaches .0071 past the valve's edge" in words["past_the_edge"]
    assert "little_face" not in words


def test_little_face_toward_the_margin_is_said_with_the_shops_figure() -> None:
    words = said(contact(head="1.535"))
    assert words["little_face"] == (
        "Only .0106 of the face is left toward the margin; the shop leaves .0156."
    )


def test_a_land_past_the_face_toward_the_stem_is_said() -> None:
    assert "past the face toward the stem" in said(contact(inner="1.440"))["past_the_face"]


def test_with_the_whole_face_known_the_contacts_place_is_said() -> None:
    assert "lies 52 % of the way out" in said(contact(inner="1.3737"))["place"]
    assert "place" not in said(contact())


def test_a_land_that_reaches_the_rings_outside_is_said() -> None:
    keys = [
        one.key for one in ring_advice("wanted land", IN("1.6262"), IN("1.500"), RING, Unit.INCH)
    ]
    assert keys == ["ring_outside"]


def test_a_land_wider_than_its_ring_is_said() -> None:
    found = ring_advice("wanted land", IN("1.630"), IN("1.370"), RING, Unit.INCH)
    assert [one.key for one in found] == ["ring_outside", "ring_inside", "wider_than_ring"]


def test_of_a_ring_that_nobody_read_nothing_is_said() -> None:
    nobody = RingEdges(None, None)
    assert ring_advice("wanted land", IN("1.63"), IN("1.37"), nobody, Unit.INCH) == []


@pytest.mark.parametrize(
    ("width", "says"), [(".040", "narrower than the shop's"), (".120", "wider than the shop's")]
)
def test_a_width_outside_the_shops_is_said_and_the_makers_figure_wins(
    width: str, says: str
) -> None:
    (one,) = width_advice(width=IN(width), kind=Kind.EXHAUST, window=WINDOW, unit=Unit.INCH)
    assert says in one.words
    assert "The engine maker's figure wins." in one.words


@pytest.mark.parametrize("width", [".050", ".100"])
def test_the_ends_of_the_shops_widths_are_inside(width: str) -> None:
    assert not width_advice(width=IN(width), kind=Kind.EXHAUST, window=WINDOW, unit=Unit.INCH)


def test_what_is_odd_comes_first_and_nothing_is_called_safe() -> None:
    advice = contact_advice(
        contact=contact(44, head="1.510"),
        seat_angle_deg=45,
        face_angle_deg=44,
        clear=IN("1/64"),
        clear_source="the shop",
        unit=Unit.INCH,
    )
    assert [one.key for one in first(advice)] == ["past_the_edge", "touch"]
    assert not any("safe" in one.words.lower() for one in advice)
