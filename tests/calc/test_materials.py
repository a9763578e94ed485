"""Expansions and their sources."""

import pytest

from app.calc.materials import HEAD_EXPANSION, RING_MATERIALS, HeadMaterial, head_expansion
from app.calc.sources import EXPANSION_TABLE, GAUGE_SCALE, Mark

CHECKS = {
    "head_expansion": "Callister, Fundamentals of Materials Science and Engineering, 3rd ed., "
    "table B.6",
}


@pytest.mark.parametrize(
    ("material", "table_b6"),
    [("grey_iron", 11.4e-6), ("ductile_iron", 11.2e-6), ("aluminium", 21.5e-6)],
)
def test_head_expansions_are_the_tables(material: str, table_b6: float):
    found = head_expansion(material=HeadMaterial(material))
    assert float(found.alpha_per_k) == table_b6
    assert found.source is EXPANSION_TABLE


def test_every_head_material_has_an_expansion():
    assert set(HEAD_EXPANSION) == set(HeadMaterial)


@pytest.mark.parametrize("key", ["sintered", "cobalt", "nickel_iron", "unknown"])
def test_no_expansion_is_guessed_for_families_that_differ_too_much(key: str):
    assert RING_MATERIALS[key].expansion is None


def test_every_expansion_of_a_ring_names_a_published_source():
    found = [one.expansion for one in RING_MATERIALS.values() if one.expansion]
    assert len(found) >= 8
    assert all(one.source.mark is Mark.PUBLISHED for one in found)
    assert all(9e-6 < one.alpha_per_k < 20e-6 for one in found)


def test_a_figure_from_memory_says_so_where_it_is_cited():
    assert GAUGE_SCALE.cited.endswith("(from memory)")
