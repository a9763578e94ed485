"""Guides against their stems, new guides against the head, and both on paper; scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from tests.web.bench import Bench
from tests.web.measuring import FreshHead
from tests.web.pages import Walk

KEEP = "Keep the readings"
SLIP = "A slip, or is it so?"
SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def marek(head: FreshHead, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek").get(head.at("guides"))


def type_in(head: FreshHead, walk: Walk, label: str, status: int = 200, **sizes: str) -> Walk:
    """`type_in(head, walk, "3E", guide_bore_top=".3436")`: quantity and place, one by one."""
    fields = {}
    for name, size in sizes.items():
        quantity, _, place = name.rpartition("_")
        fields[f"{quantity}.port-{head.ports[label].id}.{place}"] = size
    return walk.send(fields, press=KEEP, status=status)


def decide(head: FreshHead, walk: Walk, label: str, said: str, what: str = "") -> Walk:
    walk.get(head.at("guides"))
    return walk.send({f"guide_{head.ports[label].id}": said, "what": what}, press=KEEP)


def new_guide(head: FreshHead, walk: Walk, label: str = "3E", said: str = "replaced") -> Walk:
    """The page of new guides, with one position on it."""
    decide(head, walk, label, said)
    return walk.get(head.at("new-guides"))


def test_a_worn_guide_is_told_by_bore_and_stem(head: FreshHead, marek: Walk) -> None:
    type_in(head, marek, "3E", guide_bore_top=".3466", stem_1=".3412")
    marek.says(".0054 clear of the stem, over the shop's .0050", "2 readings kept")
    marek.get(f"/positions/{head.ports['3E'].id}/cut")
    marek.says("Its guide is off: .0054 clear of the stem, over the shop's .0050")


def test_intakes_have_a_limit_of_their_own(head: FreshHead, marek: Walk) -> None:
    type_in(head, marek, "3I", guide_bore_top=".3460", stem_1=".3415")
    marek.says(".0045 clear of the stem, over the shop's .0040")
    type_in(head, marek, "3E", guide_bore_top=".3460", stem_1=".3415")
    assert marek.words.count("over the shop's") == 1


def test_a_reading_by_rocking_is_held_against_the_limit_for_rocking_alone(
    head: FreshHead, marek: Walk
) -> None:
    marek.get(head.at("guides?method=rocking"))
    type_in(head, marek, "3E", guide_rocking_1=".0090")
    # Far over the clearance at which an exhaust guide is worn, and that is another kind of figure.
    marek.says(".0090 by rocking, within the shop's .0100 for it")
    type_in(head, marek, "3E", guide_rocking_1=".0110")
    marek.says(".0110 by rocking, over the shop's .0100 for it")


def test_the_size_to_ream_follows_the_stem_and_the_wanted_clearance(
    head: FreshHead, marek: Walk
) -> None:
    type_in(head, marek, "3E", stem_1=".3412")
    assert "ream to" not in marek.words
    decide(head, marek, "3E", "replaced")
    marek.says("ream to .3434 (.3427 to .3442)")
    type_in(head, marek, "3E", guide_bore_top=".3424")
    marek.says(".0012 clear of the stem where it is closest, least .0015")
    type_in(head, marek, "3E", guide_bore_top=".3434")
    assert "least .0015" not in marek.words
    assert "ream to" not in marek.words


def test_a_bell_mouth_is_told_from_both_ways_at_three_heights(head: FreshHead, marek: Walk) -> None:
    marek.send(press="both ways at each height")
    fields = {
        f"guide_bore.port-{head.ports['3E'].id}.{place}": size
        for place, size in (
            ("top", ".3436"),
            ("top-along", ".3436"),
            ("middle", ".3434"),
            ("middle-along", ".3434"),
            ("bottom", ".3447"),
            ("bottom-along", ".3445"),
        )
    }
    marek.send(fields, press=KEEP)
    marek.says("bell-mouthed .0012 at the bottom, over the shop's .0010, out of round .0002")


def test_a_bore_that_its_stem_cannot_enter_is_asked_about_with_what_was_typed_kept(
    head: FreshHead, marek: Walk
) -> None:
    type_in(head, marek, "3E", stem_1=".3412")
    type_in(head, marek, "3E", guide_bore_top=".3402")
    marek.says("3E: guide .3402 is no larger than the stem .3412", SLIP)
    name = head.names(marek, "guide_bore", "3E", place="top")[0]
    assert marek.form(head.at("guides")).named(name)[0].value == ".3402"
    assert not marek.form(head.at("guides")).buttons("Next: old pockets")
    type_in(head, marek, "3E", guide_bore_top=".3432")
    assert SLIP not in marek.words


def test_a_guide_of_the_wrong_order_of_magnitude_is_refused_at_its_field(
    head: FreshHead, marek: Walk
) -> None:
    type_in(head, marek, "3E", 422, guide_bore_top="34.36")
    marek.says("3E, bore, top: 34.36", "Was it typed in another unit?")
    name = head.names(marek, "guide_bore", "3E", place="top")[0]
    assert marek.form(head.at("guides")).named(name)[0].value == "34.36"


def test_a_knurled_guide_is_asked_why_and_never_told_as_a_new_one(
    head: FreshHead, marek: Walk
) -> None:
    field = f"guide_{head.ports['3E'].id}"
    marek.send({field: "knurled"}, press=KEEP, status=422)
    marek.says("What and why: Say why these are knurled")
    marek.send({field: "knurled", "what": "sold within the year"}, press=KEEP)
    marek.get(head.at("record")).says("knurled, a stopgap", "sold within the year")


def test_only_positions_that_a_part_goes_into_are_on_the_page_of_new_guides(
    head: FreshHead, marek: Walk
) -> None:
    marek.get(head.at("new-guides")).says("No guide is replaced or sleeved on this head")
    new_guide(head, marek)
    assert len(marek.names("new_guide.")) == 2
    marek.says("3E: measure its outside", "Hot head", "Pressing")


def test_a_new_guide_gives_its_bore_and_then_its_grip(head: FreshHead, marek: Walk) -> None:
    new_guide(head, marek)
    type_in(head, marek, "3E", new_guide_1=".5020")
    marek.says("bore in the head .5005 (.5000 to .5010)", "measure the bore it goes into")
    type_in(head, marek, "3E", guide_housing_across=".5006")
    marek.says("grip .0014, wanted .0010 to .0020: as wanted", "Nothing is open here")
    marek.says("3E: working of its grip", "guide OD, one reading", "possible error")
    type_in(head, marek, "3E", guide_housing_across=".5013")
    marek.says("grip .0007, wanted .0010 to .0020: too loose")


def test_a_warm_head_is_asked_about_and_its_bore_taken_to_20_degrees(
    head: FreshHead, marek: Walk
) -> None:
    new_guide(head, marek)
    port = head.ports["3E"].id
    sent = {
        f"new_guide.port-{port}.1": ".5020",
        f"guide_housing.port-{port}.across": ".5010",
        "part_c": "60",
        "gauge_c": "20",
    }
    marek.send(sent, press=KEEP)
    # Iron, 40 K: .5 x 40 x 11.4e-6 = .0002 that the warm bore reads too large.
    marek.says("grip .0012, wanted", "head at 60 °C")
    warm = {f"new_guide.port-{port}.1": ".5019", "part_c": "600"}
    marek.send(warm, press=KEEP, status=422).says("Head at, °C: ")


def test_a_guide_no_larger_than_its_bore_is_asked_about(head: FreshHead, marek: Walk) -> None:
    new_guide(head, marek)
    type_in(head, marek, "3E", new_guide_1=".5020", guide_housing_across=".5030")
    marek.says("3E: the guide .5020 is no larger than the bore .5030 that is to grip it", SLIP)
    assert "wanted .0010" not in marek.words


def test_a_grip_beyond_any_habit_is_asked_about(head: FreshHead, marek: Walk) -> None:
    new_guide(head, marek)
    type_in(head, marek, "3E", new_guide_1=".5020", guide_housing_across=".4920")
    marek.says("3E: the guide .5020 is far from the bore .4920", SLIP)


def test_a_sleeve_has_limits_of_its_own(head: FreshHead, marek: Walk) -> None:
    new_guide(head, marek, said="sleeved")
    type_in(head, marek, "3E", new_guide_1=".3765", guide_housing_across=".3751")
    marek.says("grip .0014, wanted .0005 to .0025")


def test_the_height_as_pressed_is_held_against_the_old_guides(head: FreshHead, marek: Walk) -> None:
    new_guide(head, marek)
    type_in(head, marek, "3E", down_height_before=".814", down_height_1=".830")
    marek.says("stands .0160 higher than the old one")
    type_in(head, marek, "3E", down_height_1=".810")
    assert "than the old one" not in marek.words


def test_the_record_tells_guides_in_plain_words(head: FreshHead, marek: Walk) -> None:
    new_guide(head, marek)
    type_in(
        head, marek, "3E", new_guide_1=".5020", guide_housing_across=".5005", down_height_1=".813"
    )
    marek.get(head.at("guides"))
    type_in(head, marek, "3E", guide_bore_top=".3434", stem_1=".3412")
    marek.get(head.at("record"))
    marek.says(
        "new guide",
        ".0022 clear of the stem, inside .0015 to .0030",
        "grip .0015, wanted .0010 to .0020",
        ".813",
    )


def test_a_head_whose_guides_were_only_left_has_no_table_of_guides(
    head: FreshHead, marek: Walk
) -> None:
    marek.send(press="The rest: left as they are")
    assert "clearance is guide bore less valve stem" not in marek.get(head.at("record")).words


@pytest.mark.parametrize("stage", ["set"])
def test_the_set_up_sheet_tells_what_the_pilot_stands_in(
    bench: Bench, signed_in_as: SignedInAs
) -> None:
    marek = Walk(signed_in_as("Marek")).get(f"/heads/{bench.head.id}/guides")
    port_id = bench.ports["2E"].id
    marek.send(port=[str(port_id)], how="sleeved", press="This was done to them")
    marek.send(press="top, middle and bottom")
    places = (("top", ".3436"), ("middle", ".3434"), ("bottom", ".3446"))
    marek.send({f"guide_bore.port-{port_id}.{place}": size for place, size in places}, press=KEEP)
    marek.get(f"/jobs/{bench.job.number}/set-up")
    marek.says("2E: sleeved, ", "bell-mouthed .0012 at the bottom", "the pilot leans")
