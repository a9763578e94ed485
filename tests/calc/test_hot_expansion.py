"""Mean expansions at temperature, against the tables they were read from."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import MissingError
from app.calc.hot_expansion import (
    HEAD_POINTS,
    RING_POINTS,
    MeanPoint,
    constant_expansion,
    mean_expansion,
)
from app.calc.materials import HEAD_EXPANSION, RING_MATERIALS, HeadMaterial
from app.calc.sources import GIVEN, Mark, Source

CHECKS = {
    "mean_expansion": "data sheet of casting alloy A356.0 (21.5, 22.5, 23.5); numpy.interp",
    "constant_expansion": "numpy.interp of a single point",
}

MAKER = Source("maker", "the ring maker's sheet", Mark.PUBLISHED)


@pytest.mark.parametrize(("to_c", "tabled"), [(100, 21.5), (200, 22.5), (300, 23.5)])
def test_cast_aluminium_is_the_data_sheets(to_c: int, tabled: float):
    found = mean_expansion(points=HEAD_POINTS[HeadMaterial.ALUMINIUM], temperature_c=to_c)
    assert float(found.alpha_per_k) * 1e6 == pytest.approx(tabled)
    assert "A356.0" in found.source or to_c == 100


@given(
    st.sampled_from([*HEAD_POINTS.values(), *filter(None, RING_POINTS.values())]),
    st.floats(-200, 700),
)
def test_between_the_points_it_is_straight_and_outside_it_stands(
    points: tuple[MeanPoint, ...], t: float
):
    expected = np.interp(t, [p.to_c for p in points], [float(p.alpha_per_k) for p in points])
    found = mean_expansion(points=points, temperature_c=t)
    assert float(found.alpha_per_k) == pytest.approx(float(expected), rel=1e-12)


@pytest.mark.parametrize("material", HeadMaterial)
def test_heads_expand_more_the_hotter_they_are(material: HeadMaterial):
    points = HEAD_POINTS[material]
    assert points[0].alpha_per_k == HEAD_EXPANSION[material].alpha_per_k
    alphas = [mean_expansion(points=points, temperature_c=t).alpha_per_k for t in range(0, 500, 50)]
    assert alphas == sorted(alphas)
    assert alphas[-1] > alphas[0]


def test_words_say_how_far_the_mean_reaches():
    points = HEAD_POINTS[HeadMaterial.ALUMINIUM]
    assert mean_expansion(points=points, temperature_c=250).words == "mean from 20 to 250 °C"
    assert mean_expansion(points=points, temperature_c=400).words == "mean from 20 to 300 °C"
    assert mean_expansion(points=points, temperature_c=-30).words == "mean from 20 to 100 °C"


def test_a_figure_from_memory_says_so():
    found = mean_expansion(points=HEAD_POINTS[HeadMaterial.GREY_IRON], temperature_c=300)
    assert "(from memory)" in found.source
    assert found.source != GIVEN


def test_a_family_without_a_source_has_no_expansion_until_its_maker_gives_one():
    assert [key for key, points in RING_POINTS.items() if not points] == [
        key for key, one in RING_MATERIALS.items() if one.expansion is None
    ]
    with pytest.raises(MissingError) as refused:
        mean_expansion(points=RING_POINTS["sintered"], temperature_c=200)
    assert refused.value.field == "alpha_per_k"


@given(st.floats(-200, 1200), st.floats(5e-6, 30e-6))
def test_a_makers_single_figure_holds_at_every_temperature(t: float, alpha: float):
    points = constant_expansion(alpha_per_k=alpha, source=MAKER)
    found = mean_expansion(points=points, temperature_c=t)
    assert found.alpha_per_k == Fraction(repr(alpha))
    assert found.source == "the ring maker's sheet"
    assert float(found.alpha_per_k) == np.interp(t, [100.0], [alpha])
