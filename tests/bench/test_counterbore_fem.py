"""How far two flat rings differ from a ring in a counterbore: the caveat's figures are ours."""

import pytest

from app.calc.press_fit import CAVEAT, Elastic, Parts, contact
from app.calc.units import Length
from tests.calc.finite_elements import Found, Solid, pressed

ALUMINIUM, IRON, STEEL = Elastic(71, 0.33), Elastic(110, 0.26), Elastic(200, 0.30)
CELLS = (8, 24, 16)


def both(
    head: Elastic, ring_id: float, ring_od: float, head_od: float, height: float, block: float
) -> tuple[Found, float, float]:
    """The model, and pressure and head hoop over those of two flat rings."""
    solid = [Solid(one.e_gpa * 1000, one.nu) for one in (STEEL, head)]
    model = pressed(
        ring=solid[0],
        head=solid[1],
        ring_id=ring_id,
        ring_od=ring_od,
        head_od=head_od,
        height=height,
        interference=0.1,
        block=block,
        cells=CELLS,
    )
    sizes = [Length.of(str(one), "mm") for one in (ring_id, ring_od, head_od)]
    flat = contact(interference=Length.of("0.1 mm"), parts=Parts(*sizes, ring=STEEL, head=head))
    return (
        model,
        model.pressure / flat.pressure_mpa,
        model.head_bore_hoop / flat.head_bore_hoop_mpa,
    )


@pytest.mark.parametrize(
    ("head", "sizes", "block", "factor"),
    [
        (ALUMINIUM, (31, 38.1, 70, 7), 25, 1.236),
        (IRON, (31, 38.1, 70, 7), 25, 1.172),
        (ALUMINIUM, (38, 45, 75, 8), 25, 1.191),
        (IRON, (38, 45, 75, 8), 25, 1.139),
        (ALUMINIUM, (24, 30, 60, 6), 25, 1.268),
        (IRON, (24, 30, 60, 6), 25, 1.194),
        (ALUMINIUM, (31, 38.1, 70, 7), 14, 1.125),
        (ALUMINIUM, (31, 38.1, 70, 7), 40, 1.340),
    ],
)
def test_a_counterbore_in_a_block_presses_harder(head, sizes, block, factor):
    _, pressure, hoop = both(head, *sizes, block)
    assert pressure == pytest.approx(factor, rel=0.02)
    assert hoop < 0.9


def test_the_caveat_names_the_ends_of_what_was_found():
    _, thin, _ = both(ALUMINIUM, 31, 38.1, 70, 7, 14)
    _, thick, _ = both(ALUMINIUM, 31, 38.1, 70, 7, 40)
    assert f"{thin - 1:.0%}".rstrip("%") in CAVEAT
    assert f"{thick - 1:.0%}".rstrip("%") in CAVEAT
