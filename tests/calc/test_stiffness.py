"""Moduli and strengths, against the tables they were read from."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import MissingError
from app.calc.materials import RING_MATERIALS, HeadMaterial
from app.calc.press_fit import Elastic
from app.calc.sources import Source
from app.calc.stiffness import (
    ALUMINIUM_HOT_YIELD_MPA,
    HEAD_STIFFNESS,
    HEAD_STRENGTH,
    RING_STIFFNESS,
    RING_STRENGTH,
    aluminium_yield_mpa,
    ring_stiffness,
)

CHECKS = {
    "ring_stiffness": "Callister, Fundamentals of Materials Science and Engineering, 3rd ed., "
    "table B.2: 440A 200, 304 193, C17200 128 GPa",
    "aluminium_yield_mpa": "Modern Casting, July 2018, table 2; numpy.interp",
}


@pytest.mark.parametrize(
    ("key", "table_b2"), [("chromium_steel", 200), ("stainless", 193), ("beryllium_copper", 128)]
)
def test_ring_moduli_are_the_tables(key: str, table_b2: float):
    assert ring_stiffness(ring_material=key).elastic.e_gpa == table_b2


def test_head_moduli_are_the_tables():
    assert HEAD_STIFFNESS[HeadMaterial.ALUMINIUM].elastic == Elastic(72.4, 0.33)
    assert 90 <= HEAD_STIFFNESS[HeadMaterial.GREY_IRON].elastic.e_gpa <= 113
    assert HEAD_STIFFNESS[HeadMaterial.DUCTILE_IRON].elastic.e_gpa == 168


def test_every_head_material_has_a_stiffness_and_a_strength():
    assert set(HEAD_STIFFNESS) == set(HEAD_STRENGTH) == set(HeadMaterial)


@pytest.mark.parametrize("key", ["sintered", "sintered_copper", "unknown", "no_such"])
def test_sintered_and_unknown_rings_have_no_modulus_of_their_own(key: str):
    with pytest.raises(MissingError) as refused:
        ring_stiffness(ring_material=key)
    assert refused.value.field == "ring.e_gpa"
    assert "maker" in refused.value.message
    assert key not in RING_STRENGTH


def test_families_are_those_of_the_shelf_and_figures_are_possible():
    assert set(RING_STIFFNESS) <= set(RING_MATERIALS)
    assert set(RING_STRENGTH) <= set(RING_MATERIALS)
    for one in (*RING_STIFFNESS.values(), *HEAD_STIFFNESS.values()):
        assert 60 < one.elastic.e_gpa < 250
        assert 0.2 < one.elastic.nu < 0.4
    for strength in (*RING_STRENGTH.values(), *HEAD_STRENGTH.values()):
        assert 0 < strength.low_mpa <= strength.high_mpa


def test_every_figure_names_its_source():
    for one in (*RING_STIFFNESS.values(), *HEAD_STIFFNESS.values()):
        assert isinstance(one.source, Source)
        assert one.nu_source.cited
    assert RING_STIFFNESS["bronze"].source.cited.endswith("(from memory)")
    for strength in (*RING_STRENGTH.values(), *HEAD_STRENGTH.values()):
        assert strength.source.cited


@given(st.floats(-50, 400))
def test_an_aluminium_heads_yield_falls_with_heat_as_tabled(t: float):
    temperatures, yields = zip(*ALUMINIUM_HOT_YIELD_MPA, strict=True)
    expected = float(np.interp(t, temperatures, yields))
    assert aluminium_yield_mpa(temperature_c=t) == pytest.approx(expected, rel=1e-12)


def test_at_250_degrees_it_has_lost_two_thirds():
    assert aluminium_yield_mpa(temperature_c=250) / aluminium_yield_mpa(temperature_c=20) < 1 / 3
