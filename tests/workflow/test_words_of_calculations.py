"""The vocabulary and the calculations name the same things by the same stored words."""

from __future__ import annotations

from enum import Enum

import pytest

from app.calc import decision, depth, label, materials, setting
from app.workflow import kinds, words


@pytest.mark.parametrize(
    ("stored", "calculated"),
    [
        (words.DecisionRule, decision.DecisionRule),
        (kinds.Verdict, decision.Verdict),
        (words.Datum, depth.Datum),
        (words.LabelMeans, label.LabelMeans),
        (words.Material, materials.HeadMaterial),
        (words.FixtureMode, setting.FixtureMode),
    ],
)
def test_a_stored_word_is_the_calculations_word(stored: type[Enum], calculated: type[Enum]) -> None:
    assert {word.value for word in stored} == {word.value for word in calculated}
