"""Deck flatness with scripts off: each gap at a place, against this head's limits."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from tests.web.measuring import FreshHead
from tests.web.pages import Walk


@pytest.fixture
def marek(head: FreshHead, signed_in_as: Callable[[str], TestClient]) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek").get(head.at("flatness"))


def gaps(head: FreshHead, **typed: str) -> dict[str, str]:
    return {
        f"flatness.head-{head.head.id}.{place.replace('_', '-')}": gap
        for place, gap in typed.items()
    }


def test_the_widest_gap_is_told_with_its_place_and_the_shops_rule(
    head: FreshHead, marek: Walk
) -> None:
    marek.send(gaps(head, along_middle=".0035", across_near=".002"), press="Keep")
    marek.says(
        "Widest .0035 in, along the middle: by these readings within .004 in over the whole length",
        "shop rule, common practice",
        "Not read: diagonal from near left and diagonal from near right",
    )


def test_the_engine_makers_figure_wins_over_the_shops(head: FreshHead, marek: Walk) -> None:
    limits = {"limit_whole": ".003", "limit_source": "works manual, page 62"}
    marek.send({**gaps(head, along_middle=".0035"), **limits}, press="Keep")
    marek.says(".0005 in past .003 in over the whole length (works manual, page 62)")
    marek.says("The engine maker's figures as typed for this head")
    served = marek.form(head.at("flatness"))
    assert served.named("limit_whole")[0].value == ".003"


def test_a_step_within_a_part_is_held_against_the_limit_for_parts(
    head: FreshHead, marek: Walk
) -> None:
    name = f"flatness.head-{head.head.id}.along-left.part"
    marek.send({name: ".002"}, press="Keep")
    marek.says("Widest .002 in, along the left edge: by these readings .001 in past .001 in in any")


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"other_gap": ".003"}, "a flatness without a place says nothing"),
        ({"other_place": "by plug 3"}, "what was read at by plug 3?"),
        ({"other_place": "<b>", "other_gap": ".003"}, "is named with letters and figures"),
        ({"other_place": "by plug 3", "other_gap": "3"}, "is outside 0 to .0787 in (0 to 2 mm)"),
        ({"other_place": "by plug 3", "other_gap": ".030"}, "is wide for a deck"),
        ({"limit_whole": ".003"}, "say where the maker's figure was read"),
        ({"limit_source": "a manual"}, "which figure stands there?"),
        ({"limit_whole": ".003", "limit_part": ".001", "limit_source": "m"}, "over which length?"),
        (
            *({"limit_whole": ".001", "limit_part": ".002", "limit_over": "6"},),
            "is more than what is allowed over the whole length",
        ),
    ],
)
def test_what_cannot_stand_is_refused_at_its_field_and_stays_typed(
    head: FreshHead, marek: Walk, typed: dict[str, str], told: str
) -> None:
    sent = {**gaps(head, along_middle=".002"), **typed}
    marek.send(sent, press="Keep", status=422).says(told)
    served = marek.form(head.at("flatness"))
    for name, text in sent.items():
        assert served.named(name)[0].value == text
    marek.get(head.at("flatness")).says("Nothing read yet")


def test_a_wide_gap_is_asked_about_once_and_then_kept(head: FreshHead, marek: Walk) -> None:
    marek.send(gaps(head, along_middle=".030"), press="Keep", status=422)
    marek.says("is wide for a deck. Was it typed in another unit?")
    marek.send({"confirm_odd": "yes"}, press="Keep").says("Widest .030 in, along the middle")
    marek.send(gaps(head, across_far=".001"), press="Keep").says("Widest .030 in")


def test_a_place_that_was_named_has_its_line_from_then_on(head: FreshHead, marek: Walk) -> None:
    marek.send({"other_place": "by plug 3", "other_gap": ".0025"}, press="Keep")
    marek.says("Widest .0025 in, by plug 3")
    marek.send(
        gaps(head, along_left=".001") | {f"flatness.head-{head.head.id}.by plug 3": ".0015"},
        press="Keep",
    ).says("Widest .0015 in, by plug 3")


def test_another_tablets_limits_are_named_before_they_are_replaced(
    head: FreshHead, marek: Walk, signed_in_as: Callable[[str], TestClient]
) -> None:
    odile = Walk(signed_in_as("Odile"), "Odile").get(head.at("flatness"))
    marek.send({"limit_whole": ".003", "limit_source": "manual"}, press="Keep")
    odile.send({"limit_whole": ".006", "limit_source": "guide"}, press="Keep", status=422)
    odile.says("limits of this head were changed after this page was opened")
    odile.send(press="Keep")
    assert odile.form(head.at("flatness")).named("limit_whole")[0].value == ".006"


def test_the_counter_reads_a_deck_and_types_none(
    head: FreshHead, marek: Walk, signed_in_as: Callable[[str], TestClient]
) -> None:
    marek.send(gaps(head, along_middle=".0035"), press="Keep")
    wilma = Walk(signed_in_as("Wilma"), "Wilma").get(head.at("flatness"))
    wilma.says(".0035")
    assert wilma.names("flatness") == []


def test_a_whole_number_says_how_thousandths_are_typed(head: FreshHead, marek: Walk) -> None:
    marek.send(gaps(head, along_middle="5"), press="Keep", status=422)
    marek.says("Were thousandths meant? Those are typed .005")
