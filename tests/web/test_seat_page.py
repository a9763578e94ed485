"""One seat worked out: from the wanted land to the cuts, in the address, kept by nobody."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient

from app.db import Database
from tests.web.bench import Bench, events, words
from tests.web.pages import Walk, plain

SignedInAs = Callable[[str], TestClient]
LAND = {
    "outer": "1.534",
    "width": ".090",
    "outer_wanted": "1.520",
    "width_wanted": ".070",
    "seat_angle": "45",
    "top_angle": "30",
    "throat_angle": "60",
}
VALVE = {"valve_head": "1.560", "valve_angle": "44"}
KEEP_ALL = "Keep as wanted for all exhaust seats"


@pytest.fixture
def stage() -> str:
    """Rings in, seats to finish."""
    return "ringed"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek")


@pytest.fixture
def at(bench: Bench) -> Callable[..., str]:
    """The address of 3E's seat with these figures in it."""

    def address(label: str = "3E", **typed: str) -> str:
        query = urlencode(typed)
        return f"{bench.at(label, 'seat')}{'?' if query else ''}{query}"

    return address


Address = Callable[..., str]


def test_before_anything_is_typed_it_says_what_is_needed(marek: Walk, at: Address) -> None:
    marek.get(at()).says(
        "3E · cylinder 3 exhaust: the seat",
        "Still needed",
        "The land's outer diameter, its width or its inner diameter",
        "The seat ring reads 1.376 inside and 1.6262 outside.",
    )
    assert "Not worked yet" not in marek.words


def test_a_narrower_land_is_cut_with_top_and_throat_alone(marek: Walk, at: Address) -> None:
    """By hand: .014/4.73205 = .0030 off the top; (1.42101 − 1.40672)/2.73205 = .0052 below."""
    marek.get(at(**LAND))
    marek.says("seat 45° no cut", "top 30° .0030", "throat 60° .0052")
    marek.says(
        "Outer diameter 1.5340 1.5200 .0140 inward",
        "Inner diameter 1.4067 1.4210 .0143 outward",
        "Width, sloping .0900 .0700 .0200 narrower",
        "Width, projected .0636 .0495 .0141 narrower",
    )


def test_a_land_wanted_further_out_is_cut_with_the_seat_first(marek: Walk, at: Address) -> None:
    """By hand: .011/4.73205 = .0023."""
    marek.get(at(**{**LAND, "outer_wanted": "1.545"}))
    marek.says("seat 45° .0023", "top 30° no cut", "Valve sinks by", ".0023 in")


def test_the_inner_diameter_does_as_well_as_the_width(marek: Walk, at: Address) -> None:
    marek.get(at(**{**LAND, "width": "", "inner": "1.40672"}))
    marek.says("throat 60° .0052", "Width, sloping .0900")


def test_a_land_that_is_as_wanted_needs_no_cut(marek: Walk, at: Address) -> None:
    marek.get(at(**{**LAND, "outer": "1.520", "width": ".070"}))
    marek.says("The land is as wanted: nothing to cut", "stays")


def test_the_contact_is_told_in_words(marek: Walk, at: Address) -> None:
    marek.get(at(**LAND, **VALVE))
    marek.says("The valve touches first at the land's outer edge: its face is 1° flatter")
    marek.get(at(**LAND, valve_head="1.534", valve_angle="45"))
    marek.says("both have one angle", "Only .0099 of the face is left toward the margin")


def test_a_land_over_the_valves_edge_as_it_is_still_gives_its_cuts(
    marek: Walk, at: Address
) -> None:
    marek.get(at(**LAND, valve_head="1.525", valve_angle="45"))
    marek.says("top 30° .0030", "Valve sinks by", ".0000 in")
    assert ".0064 past the edge" in marek.text


def test_a_valve_that_falls_through_the_land_is_told_and_sinks_nothing(
    marek: Walk, at: Address
) -> None:
    typed = {**LAND, "outer": "1.600", "width": ".030", "valve_head": "1.530", "valve_angle": "45"}
    marek.get(at(**typed)).says("As it is, the valve's face and the land do not meet")
    assert "Valve sinks by" not in marek.words


def test_stem_spring_and_chamber_follow_from_how_far_the_valve_sinks(
    marek: Walk, at: Address
) -> None:
    """By hand: .0023 sunk; 1.853 + .0023 − 1.850; 1.812 + .0023 − 1.800; π/4·1.56²·.0023 in³."""
    marek.get(
        at(
            **{**LAND, "outer_wanted": "1.545", "valve_head": "1.560", "valve_angle": "45"},
            stem="1.853",
            stem_wanted="1.850",
            spring="1.812",
            spring_wanted="1.800",
        )
    )
    marek.says("Stem over the height wanted", ".0053 in", "as much would come off the tip")
    marek.says("Spring over its height wanted", ".0143 in", "a shim of as much would bring")
    marek.says("Chamber grows by", "0.07 cm³", "0.0044 in³")


def test_a_stem_that_stands_too_short_is_not_told_to_be_ground(marek: Walk, at: Address) -> None:
    marek.get(at(**LAND, stem="1.840", stem_wanted="1.850"))
    marek.says("−.0100 in", "which no grinding mends")


def test_stem_heights_come_from_the_record_with_where_they_were_read(
    marek: Walk, at: Address
) -> None:
    marek.get(at())
    assert 'name="stem_wanted" type="text"' in marek.text
    assert marek.text.count("as it came in") == 2


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"top_angle": "45"}, "Top cut: must be flatter than the seat's 45°"),
        ({"throat_angle": "40"}, "Throat cut: must be steeper than the seat's 45°"),
        ({"width": "-.07"}, "Land's width: -.07 cannot be negative."),
        ({"width_wanted": "0"}, "Width wanted: 0 is outside what can be here"),
        ({"width": ".150 mm x"}, "Land's width: '.150 mm x' cannot be read as a length"),
        ({"outer": "1.630"}, "Land's outer diameter: lies outside the seat ring"),
        ({"width": ".190"}, "Land's width: is wider than the seat ring, which measures 1.376"),
        ({"width": "", "inner": "1.28"}, "Land's inner diameter: is wider than the seat ring"),
        ({"width": "", "inner": "1.54"}, "must be smaller than the land's outer diameter"),
        ({"inner": "1.40"}, "width and inner diameter are both typed"),
        ({"valve_head": "1.515"}, "Outer edge wanted: lies outside the valve head"),
        ({"valve_angle": "61"}, "Face angle: must be flatter than the throat's 60°"),
        ({"seat_angle": "steep"}, "Seat: must be a number"),
        (
            {"valve_head": "1.560", "valve_angle": "44", "face_width": "1.2 in"},
            "Face width: 1.2 in is outside",
        ),
    ],
)
def test_what_cannot_be_is_named_at_its_field_and_stays_typed(
    marek: Walk, at: Address, change: dict[str, str], says: str
) -> None:
    marek.get(at(**{**LAND, **change})).says("Not worked yet", says)
    assert "Cut in this order" not in marek.words
    for name, typed in change.items():
        if typed:
            assert f'name="{name}"' in marek.text
            assert f'value="{typed}"' in marek.text
    assert 'aria-invalid="true"' in marek.text


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"outer_wanted": "1.6262"}, "reaches the seat ring's outside edge, which is 1.6262"),
        ({"outer_wanted": "1.640"}, "runs past the seat ring's outside edge"),
        ({"outer_wanted": "1.430"}, "where the seat ring is open: its inside is 1.376"),
        (
            {"width": "", "inner": "1.370"},
            "The land as it is would begin at 1.370, where the seat ring is open",
        ),
        ({"width_wanted": ".110"}, "wider than the shop's exhaust seats, .050 to .100"),
    ],
)
def test_a_wanted_land_that_leaves_its_ring_is_told_in_words(
    marek: Walk, at: Address, change: dict[str, str], says: str
) -> None:
    marek.get(at(**{**LAND, **change})).says("Cut in this order", says)


def test_a_seat_in_the_casting_has_no_ring_to_leave(marek: Walk, at: Address) -> None:
    marek.get(at("1E", **{**LAND, "outer": "1.700", "outer_wanted": "1.690"}))
    marek.says("Cut in this order")
    assert "seat ring" not in marek.words


def test_nothing_is_kept_by_looking(marek: Walk, at: Address, database: Database) -> None:
    with database.read() as session:
        before = events(session)
    marek.get(at(**LAND, **VALVE))
    with database.read() as session:
        assert events(session) == before


def test_it_is_kept_as_wanted_for_all_seats_of_its_kind(
    bench: Bench, marek: Walk, at: Address
) -> None:
    address = at(**LAND, **VALVE)
    marek.get(address).says("Source: worked out at 3E").send(press=KEEP_ALL)
    assert marek.url == address
    marek.says("Kept.", "This is what is kept as wanted", "Outer diameter 1.5340 1.5200")
    marek.get(at("2E", **LAND, **VALVE)).says("This is what is kept as wanted for the exhaust")
    marek.get(at("1E"))
    assert 'name="outer_wanted" type="text"' in marek.text
    assert 'value="1.52"' in marek.text
    assert "as planned" in marek.words


def test_a_plans_source_is_not_carried_to_other_figures(marek: Walk, at: Address) -> None:
    marek.get(at(**LAND, source="the engine's manual")).says("Source: the engine's manual")
    marek.send(press=KEEP_ALL).get(at())
    assert "the engine's manual" not in marek.text
    marek.get(at(**{**LAND, "width_wanted": ".080"})).says("Source: worked out at 3E")


def test_an_odd_seat_is_asked_about_before_it_is_kept(marek: Walk, at: Address) -> None:
    marek.get(at(**{**LAND, "width_wanted": ".110"})).send(press=KEEP_ALL, status=422)
    marek.says("Is it so? A land .110 wide is outside the shop's widths")
    marek.send(confirm_odd="yes", press="Keep for all exhaust seats").says("Kept.")


def test_the_counter_sees_it_without_the_button(
    bench: Bench, at: Address, signed_in_as: SignedInAs
) -> None:
    page = words(signed_in_as("Wilma").get(at(**LAND, **VALVE)))
    assert "Cut in this order" in page
    assert KEEP_ALL not in page


def test_while_typing_only_what_follows_comes_back_and_the_address_goes_along(
    at: Address, signed_in_as: SignedInAs
) -> None:
    address = at(**LAND)
    answer = signed_in_as("Marek").get(address, headers={"HX-Request-Type": "partial"})
    assert answer.text.lstrip().startswith('<div id="worked"')
    assert answer.headers["HX-Replace-Url"] == address
    wrong = signed_in_as("Marek").get(
        at(**{**LAND, "top_angle": "45"}), headers={"HX-Request-Type": "partial"}
    )
    assert 'data-wrong="r-top-angle "' in wrong.text


def test_a_size_with_its_unit_behind_it_is_understood(marek: Walk, at: Address) -> None:
    typed = {**LAND, "outer": "38.96 mm", "width": "2,29 mm", "outer_wanted": "38.6 mm"}
    marek.get(at(**typed)).says("top 30° .0030", "Outer diameter 1.5339 1.5197")


def test_every_line_of_the_working_names_its_source(marek: Walk, at: Address) -> None:
    marek.get(at(**LAND, **VALVE, stem="1.853", stem_wanted="1.850"))
    working = plain(marek.text[marek.text.index("<summary>Working") :])
    for title in ("The cuts", "The land as it is", "Contact, as wanted", "How far the valve sinks"):
        assert title in working
    assert "inner diameter that gives it, D_o′ − 2·w′·cos a" in working


@pytest.mark.parametrize(
    "query", ["outer=%00", "outer=1e5", "seat_angle=nan", "x=1", "width=" + "9" * 300]
)
def test_a_strange_address_is_answered_like_any_other(
    at: Address, signed_in_as: SignedInAs, query: str
) -> None:
    assert signed_in_as("Marek").get(f"{at()}?{query}").status_code == 200


def test_a_position_that_is_not_there_is_said_to_be_missing(signed_in_as: SignedInAs) -> None:
    assert signed_in_as("Marek").get("/positions/9999/seat").status_code == 404
