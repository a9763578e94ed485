"""What a changed fact makes stale, line by line."""

from __future__ import annotations

import pytest

from app.workflow.kinds import Quantity, ResultKind
from app.workflow.stale import (
    Change,
    Phase,
    change_of,
    instrument_failed,
    still_matters,
    what_no_longer_stands,
)

K = ResultKind

# As the bench would say it: what loses its ground before the cut, at a bore, and with a ring in.
EXPECTED: dict[Change, tuple[set[K], set[K], set[K]]] = {
    Change.RING_OD_STRUCK: (
        {K.RING_SET, K.TARGET, K.CLEAN_UP, K.WALL_WEB, K.PLAN, K.SETTING},
        {K.RING_SET, K.TARGET, K.VERIFICATION},
        {K.RING_SET, K.TARGET, K.VERIFICATION},
    ),
    Change.RING_HEIGHT_STRUCK: ({K.DEPTH_STOP}, {K.VERIFICATION}, {K.VERIFICATION}),
    Change.RING_ID_STRUCK: (set(), set(), set()),
    Change.INSPECTION_STRUCK: (set(), set(), set()),
    Change.OD_CHECK_STRUCK: (set(), set(), {K.RING_IN}),
    Change.RINGS_SWAPPED: (
        {K.TARGET, K.DEPTH_STOP, K.CLEAN_UP, K.WALL_WEB, K.PLAN, K.SETTING},
        {K.TARGET, K.VERIFICATION},
        {K.TARGET, K.VERIFICATION, K.RING_IN},
    ),
    Change.BORE_STRUCK: (set(), {K.VERIFICATION}, {K.VERIFICATION}),
    Change.BORE_READ_AGAIN: (set(), {K.VERIFICATION}, {K.VERIFICATION}),
    Change.DEPTH_STRUCK: (set(), {K.VERIFICATION}, {K.VERIFICATION}),
    Change.OLD_POCKET_STRUCK: ({K.CLEAN_UP, K.DEPTH_STOP, K.WALL_WEB}, set(), set()),
    Change.WALL_STRUCK: ({K.WALL_WEB}, set(), set()),
    Change.GUIDE_STRUCK: ({K.PILOT_FIT}, {K.PILOT_FIT}, {K.PILOT_FIT}),
    Change.GUIDE_REPLACED: (
        {K.PILOT_FIT, K.CLEAN_UP, K.SETTING, K.GUIDE_GRIP},
        {K.PILOT_FIT, K.GUIDE_GRIP},
        {K.PILOT_FIT, K.FINISH, K.GUIDE_GRIP},
    ),
    Change.NEW_GUIDE_STRUCK: ({K.GUIDE_GRIP}, {K.GUIDE_GRIP}, {K.GUIDE_GRIP}),
    Change.PILOT_RE_MEASURED: ({K.PILOT_FIT, K.SETTING}, {K.PILOT_FIT}, {K.PILOT_FIT}),
    Change.FIXTURE_STRUCK: ({K.SETTING}, set(), set()),
    Change.TIP_CHANGED: ({K.SETTING}, set(), set()),
    Change.TOUCH_OFF_CHANGED: ({K.DEPTH_STOP}, set(), set()),
    Change.RULE_CHANGED: (
        {K.RING_SET, K.TARGET, K.CLEAN_UP, K.WALL_WEB, K.PLAN, K.SETTING},
        {K.RING_SET, K.TARGET, K.VERIFICATION},
        {K.RING_SET, K.TARGET, K.VERIFICATION},
    ),
    Change.RING_EXPANSION_CHANGED: (
        {K.TARGET, K.CLEAN_UP, K.WALL_WEB, K.PLAN, K.SETTING},
        {K.TARGET, K.VERIFICATION},
        {K.TARGET, K.VERIFICATION},
    ),
    Change.HEAD_EXPANSION_CHANGED: (set(), {K.VERIFICATION}, {K.VERIFICATION}),
    Change.STEM_STRUCK: (set(), set(), {K.FINISH}),
    Change.SEAT_STRUCK: (set(), set(), {K.FINISH}),
}

NOT_RETROACTIVE = {
    Change.PILOT_RE_MEASURED,
    Change.TIP_CHANGED,
    Change.TOUCH_OFF_CHANGED,
    Change.RULE_CHANGED,
    Change.RING_EXPANSION_CHANGED,
    Change.HEAD_EXPANSION_CHANGED,
}


def test_every_change_is_in_the_table() -> None:
    assert set(EXPECTED) == set(Change)


@pytest.mark.parametrize("change", list(Change))
@pytest.mark.parametrize("phase", [Phase.BEFORE_CUT, Phase.CUT, Phase.RING_IN])
def test_what_loses_its_ground(change: Change, phase: Phase) -> None:
    stale = what_no_longer_stands(change, phase)
    assert set(stale.no_longer_stands) == EXPECTED[change][list(Phase).index(phase)]
    assert stale.still_good
    if stale.no_longer_stands:
        assert stale.redo
        assert "No longer stands: " in stale.told
    else:
        assert "Nothing accepted rested on it." in stale.told


@pytest.mark.parametrize("change", list(Change))
def test_a_strike_reaches_what_is_signed_and_a_rule_of_today_does_not(change: Change) -> None:
    signed = what_no_longer_stands(change, Phase.SIGNED)
    if change in NOT_RETROACTIVE:
        assert signed.no_longer_stands == ()
        assert not signed.drops_overcut
        assert "as it was signed" in signed.still_good
    else:
        with_ring = what_no_longer_stands(change, Phase.RING_IN)
        assert signed.no_longer_stands == with_ring.no_longer_stands


@pytest.mark.parametrize("change", list(Change))
@pytest.mark.parametrize("phase", list(Phase))
def test_nothing_is_stale_that_the_next_step_does_not_rest_on(change: Change, phase: Phase) -> None:
    stale = what_no_longer_stands(change, phase)
    assert all(still_matters(kind, phase) for kind in stale.no_longer_stands)


def test_a_setting_matters_until_the_bore_is_cut() -> None:
    assert still_matters(K.SETTING, Phase.BEFORE_CUT)
    assert not still_matters(K.SETTING, Phase.CUT)
    assert still_matters(K.VERIFICATION, Phase.RING_IN)


@pytest.mark.parametrize(
    ("change", "drops"),
    [
        (Change.BORE_STRUCK, True),
        (Change.FIXTURE_STRUCK, True),
        (Change.PILOT_RE_MEASURED, True),
        (Change.RING_OD_STRUCK, False),
        (Change.TIP_CHANGED, False),
    ],
)
def test_a_bore_whose_figures_fell_teaches_no_overcut(change: Change, drops: bool) -> None:
    assert what_no_longer_stands(change, Phase.CUT).drops_overcut is drops
    assert not what_no_longer_stands(change, Phase.BEFORE_CUT).drops_overcut


@pytest.mark.parametrize("quantity", list(Quantity))
def test_every_quantity_that_is_read_can_be_struck(quantity: Quantity) -> None:
    assert isinstance(change_of(quantity), Change)


def test_an_instrument_that_failed_takes_all_it_read_along() -> None:
    stale = instrument_failed([Quantity.BORE, Quantity.DEPTH, Quantity.BORE], Phase.CUT)
    assert [each.change for each in stale] == [Change.BORE_STRUCK, Change.DEPTH_STRUCK]
    assert instrument_failed([], Phase.CUT) == ()


def test_a_guide_replaced_after_the_bore_was_cut_is_told_whole() -> None:
    assert what_no_longer_stands(Change.GUIDE_REPLACED, Phase.CUT).told == (
        "The guide was replaced. No longer stands: pilot fit and grip of the new guide. Measure "
        "the new guide and check that the bore runs true to it before the ring goes in. Still "
        "good: bore and depth as gauged, verdict."
    )
