"""Advice about a tip's cuts: it does not chase noise, and never judges by a few."""

from __future__ import annotations

import pytest

from app.calc.overcut import Cut
from app.calc.overcut_signs import overcut_signs
from app.calc.units import Length
from app.workflow.overcut_advice import OvercutAdvice, TipState, advise, look_here

BAND = Length.of(".0002")
START = Length.of("1.6200")


def advice(*tenths: int) -> OvercutAdvice:
    cuts = [Cut(START, START + Length.of(".0001") * each) for each in tenths]
    signs = overcut_signs(cuts=cuts, dead_band=BAND)
    return advise(signs, dead_band=BAND, goes_under=False, unit="in")


@pytest.mark.parametrize(
    ("tenths", "state"),
    [
        ((3, 12, 1), TipState.TOO_FEW),
        ((3, 4, 3, 2, 3, 4, 2, 3, 4, 3), TipState.SCATTERS),
        ((3, 3, 4, 3, 3, 4, 3, 3, 4, 3, 3, 16), TipState.STRAY),
        ((0, 1, 0, 1, 0, 1, 0, 1, 12, 13, 12, 13, 12, 13, 12, 13), TipState.SHIFTED),
        ((3, 3, 4, 3, 4, 6, 8, 10, 12, 14), TipState.DRIFTS),
    ],
)
def test_a_tip_is_told_by_what_its_cuts_show(tenths: tuple[int, ...], state: TipState) -> None:
    assert advice(*tenths).state is state


def test_scatter_is_left_alone_in_words() -> None:
    told = advice(3, 4, 3, 2, 3, 4, 2, 3, 4, 3)
    assert "scatter by chance" in told.says
    assert told.do.startswith("Leave it alone.")
    assert "never the last cut" in told.do


def test_a_drift_asks_for_a_look_at_the_tip_and_promises_nothing() -> None:
    told = advice(3, 3, 4, 3, 4, 6, 8, 10, 12, 14)
    assert "Look at the tip" in told.do
    assert "may cut larger" in told.do
    assert "safe" not in told.says + told.do


def test_only_what_wants_a_look_is_named_in_a_list() -> None:
    def named(*tenths: int) -> str:
        cuts = [Cut(START, START + Length.of(".0001") * each) for each in tenths]
        return look_here(overcut_signs(cuts=cuts, dead_band=BAND))

    assert named(3, 4, 3, 2, 3, 4, 2, 3, 4, 3) == ""
    assert named(3, 3, 4, 3, 4, 6, 8, 10, 12, 14) == "7 in a row grow"
