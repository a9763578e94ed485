"""A setting belongs to named positions; any other position refuses it and says why."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from app.calc.units import Length
from app.workflow.facts import HoldFacts, Point
from app.workflow.kinds import HoldReason, SettingState, Unit
from app.workflow.settings import (
    Confirm,
    CutTouch,
    Lapse,
    PortName,
    Refusal,
    SettingFacts,
    SettingUse,
    must_confirm,
    re_check,
    refuse_cut,
    standing_of,
    told_neighbours,
)

from .heads import OPEN, finished_head, with_port

# 2E is bored, 3E is to be cut; neither ring is in.
HEAD = with_port(finished_head(), "2E", ring_in=OPEN, signed=OPEN)
HEAD = with_port(HEAD, "3E", ring_in=OPEN, signed=OPEN, cut=OPEN, setting=OPEN)
S88 = SettingFacts(
    name="S-88",
    state=SettingState.LIVE,
    ports=(PortName("2E"), PortName("3E")),
    bore=Length.of("1.62215"),
)
S89 = SettingFacts(
    name="S-89",
    state=SettingState.READY,
    ports=(PortName("1E"),),
    bore=Length.of("1.53220"),
)


def refusal(
    label: str, setting: SettingFacts = S88, *others: SettingFacts, **more: Any
) -> Refusal | None:
    head = more.pop("head", HEAD)
    return refuse_cut(setting, others, head, PortName(label), Unit.INCH, **more)


def test_a_named_position_may_be_cut_with_a_live_setting() -> None:
    assert refusal("3E") is None
    assert refusal("2E") is None


def test_a_position_without_a_ring_is_refused_and_the_neighbours_are_told() -> None:
    refused = refusal("3I")
    assert refused is not None
    assert refused.message == (
        "3I is not in setting S-88. Cannot be recorded for 3I: it is for 2E and 3E only. "
        "3I gets no ring (leave). "
        "Beside 3I: 3E on its left gets a ring, 4I on its right gets no ring."
    )
    assert refused.needs_setting == ""


def test_a_position_of_another_setting_is_told_which_it_needs_and_why() -> None:
    head = with_port(HEAD, "1E", work=HEAD.port("3E").work)
    refused = refusal("1E", S88, S89, head=head)
    assert refused is not None
    assert refused.needs_setting == "S-89"
    assert "1E needs setting S-89, which cuts 1.53220; this one cuts 1.62215." in refused.message
    assert "Cannot be recorded" in refused.message


def test_a_setting_that_is_over_is_not_the_one_needed() -> None:
    head = with_port(HEAD, "1E", work=HEAD.port("3E").work)
    refused = refusal("1E", S88, replace(S89, state=SettingState.ENDED), head=head)
    assert refused is not None
    assert refused.needs_setting == ""
    assert "No setting names 1E yet" in refused.message


def test_the_same_label_on_another_head_is_another_position() -> None:
    left_only = replace(S88, ports=(PortName("3E", "left head"),))
    refused = refuse_cut(left_only, (), HEAD, PortName("3E", "right head"), Unit.INCH)
    assert refused is not None
    assert refused.message.startswith(
        "right head 3E is not in setting S-88. "
        "Cannot be recorded for right head 3E: it is for left head 3E only."
    )
    assert refuse_cut(left_only, (), HEAD, PortName("3E", "left head"), Unit.INCH) is None


@pytest.mark.parametrize(
    ("state", "words"),
    [
        (SettingState.READY, "is worked out and not set"),
        (SettingState.LAPSED, "is to be read again (it was set on another day)"),
        (SettingState.ENDED, "is over (it was set on another day); plan a new one"),
    ],
)
def test_a_setting_that_is_not_live_cuts_nothing(state: SettingState, words: str) -> None:
    setting = replace(S88, state=state, lapsed_because="it was set on another day")
    refused = refusal("3E", setting)
    assert refused is not None
    assert words in refused.message


def test_a_reading_that_leaves_a_positions_window_is_not_live_for_it() -> None:
    setting = replace(S88, outside=(PortName("3E"),))
    refused = refusal("3E", setting)
    assert refused is not None
    assert "would cut 1.62215, outside the window of 3E" in refused.message
    assert refusal("2E", setting) is None


def test_a_position_on_hold_is_not_cut() -> None:
    head = with_port(HEAD, "3E", hold=HoldFacts(HoldReason.LOOSE, "loose by .0015"))
    refused = refusal("3E", head=head)
    assert refused is not None
    assert refused.message == (
        "Cannot be recorded for 3E: it is on hold (loose by .0015); choose a way out first."
    )


def test_a_position_with_its_ring_in_is_not_cut() -> None:
    head = with_port(HEAD, "3E", ring_in=Point.closed("pressed"))
    refused = refusal("3E", head=head)
    assert refused is not None
    assert "its ring is in" in refused.message


def test_neighbours_are_told_by_what_they_are_as_the_head_lies() -> None:
    assert told_neighbours(HEAD, "3E") == ("2E on its left is bored, 3I on its right gets no ring.")
    assert told_neighbours(HEAD, "3E", turned=180) == (
        "3I on its left gets no ring, 2E on its right is bored."
    )
    done = with_port(HEAD, "2E", ring_in=Point.closed("pressed"))
    assert told_neighbours(done, "3E").startswith("2E on its left has its ring in")


USE = SettingUse(day=date(2026, 11, 24), person_id=1, clamp_up_id=7)


def test_a_setting_stays_live_while_nothing_changes() -> None:
    assert standing_of(USE, USE).is_live
    assert not standing_of(USE, USE).needs_only_reading


@pytest.mark.parametrize(
    ("changes", "lapse"),
    [
        ({"day": date(2026, 11, 25)}, Lapse.NEW_DAY),
        ({"person_id": 2}, Lapse.NEW_PERSON),
        ({"clamp_up_id": 8}, Lapse.NEW_CLAMP_UP),
        ({"clamp_up_id": None}, Lapse.NEW_CLAMP_UP),
    ],
)
def test_a_new_day_person_or_clamp_up_asks_one_reading(
    changes: dict[str, Any], lapse: Lapse
) -> None:
    standing = standing_of(USE, replace(USE, **changes))
    assert standing.lapses == (lapse,)
    assert standing.needs_only_reading
    assert standing.told == f"Read the fixture once more: {lapse.screen}."


@pytest.mark.parametrize(
    ("changed", "lapse"),
    [
        ({"cutter_set_elsewhere": True}, Lapse.CUTTER_SET_ELSEWHERE),
        ({"tip_changed": True}, Lapse.TIP_CHANGED),
    ],
)
def test_a_cutter_set_elsewhere_or_a_new_tip_is_set_anew(
    changed: dict[str, bool], lapse: Lapse
) -> None:
    standing = standing_of(USE, USE, **changed)
    assert standing.lapses == (lapse,)
    assert not standing.is_live
    assert not standing.needs_only_reading
    assert standing.told == f"Set the cutter anew: {lapse.screen}."


def test_one_reading_is_not_enough_when_the_tip_changed_too() -> None:
    standing = standing_of(USE, replace(USE, person_id=2), tip_changed=True)
    assert not standing.needs_only_reading
    assert "the tip was changed or ground and another person set it" in standing.told


def test_a_setting_made_before_the_first_clamp_up_does_not_lapse_by_it() -> None:
    assert standing_of(replace(USE, clamp_up_id=None), USE).is_live


@pytest.mark.parametrize(
    ("again", "agrees"), [(".8109", True), (".8110", True), (".8108", True), (".8111", False)]
)
def test_a_re_check_agrees_within_one_division(again: str, agrees: bool) -> None:
    checked = re_check(Length.of(".8109"), Length.of(again), Length.of(".0001"), Unit.INCH)
    assert checked.agrees is agrees


def test_a_re_check_that_moved_says_by_how_much() -> None:
    checked = re_check(Length.of(".8109"), Length.of(".8105"), Length.of(".0001"), Unit.INCH)
    assert checked.told == "Reads .8105, .0004 less than when it was set: set the cutter anew."


TOUCH = CutTouch(
    clamp_up_id=7, setting_id=88, person_id=1, row=1, at=datetime(2026, 11, 24, 10, 0, tzinfo=UTC)
)


def test_the_next_position_is_carried_along_the_setting() -> None:
    assert must_confirm(TOUCH, replace(TOUCH, at=TOUCH.at + timedelta(minutes=9))) is None


@pytest.mark.parametrize(
    ("last", "changes", "why"),
    [
        (None, {}, Confirm.FIRST),
        (TOUCH, {"clamp_up_id": 8}, Confirm.FIRST),
        (TOUCH, {"person_id": 2}, Confirm.PERSON),
        (TOUCH, {"setting_id": 89}, Confirm.SETTING),
        (TOUCH, {"row": 2}, Confirm.ROW),
        (TOUCH, {"at": TOUCH.at + timedelta(minutes=10)}, Confirm.PAUSE),
    ],
)
def test_the_position_is_touched_on_the_map_when_something_changed(
    last: CutTouch | None, changes: dict[str, Any], why: Confirm
) -> None:
    assert must_confirm(last, replace(TOUCH, **changes)) is why


def test_how_long_a_touch_lasts_is_a_shop_rule() -> None:
    later = replace(TOUCH, at=TOUCH.at + timedelta(minutes=4))
    assert must_confirm(TOUCH, later, after_minutes=3) is Confirm.PAUSE
    assert must_confirm(TOUCH, later, after_minutes=5) is None
