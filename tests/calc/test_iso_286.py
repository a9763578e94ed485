"""Where the default windows lie on the standard scale of fits: a second opinion."""

import pytest
from pressfit import fit
from pressfit.tables import it_value

from app.calc.materials import HeadMaterial
from app.calc.rules import rule_for
from app.calc.units import Length

# ISO 286-1 at 38.1 mm, in µm, as a machine-drawing textbook tabulates it.
SIZE = 38.1
GRADES = {5: 11, 6: 16, 7: 25, 8: 39, 9: 62, 10: 100, 11: 160}
DEVIATIONS = {
    **{"m": 9, "n": 17, "p": 26, "r": 34, "s": 43, "t": 48, "u": 60, "v": 68, "x": 80, "y": 94},
    "z": 112,
}


def interference_um(letter: str) -> tuple[int, int]:
    """Least and most interference of H7 with that letter at grade 7."""
    return DEVIATIONS[letter] - GRADES[7], DEVIATIONS[letter] + GRADES[7]


@pytest.mark.parametrize("grade", GRADES)
def test_the_typed_grades_are_a_second_tables(grade: int):
    assert it_value(SIZE, grade) == GRADES[grade]


@pytest.mark.parametrize("letter", ["m", "n", "p", "s", "u"])
def test_the_typed_deviations_are_a_second_tables_where_it_has_the_letter(letter: str):
    clearance = fit(f"H7/{letter}7", SIZE).clearance_um
    assert (-clearance[1], -clearance[0]) == interference_um(letter)


@pytest.mark.parametrize(("letter", "ends"), [("s", (18, 68)), ("u", (35, 85)), ("x", (55, 105))])
def test_the_textbooks_interferences_follow_from_its_rows(letter: str, ends: tuple[int, int]):
    assert interference_um(letter) == ends


def aim_um(material: HeadMaterial) -> float:
    window = rule_for(material=material, ring_od=Length.of("38.1 mm")).interference
    return window.aim.nm / 1000


def test_the_iron_aim_is_a_heavy_force_fit():
    low, high = interference_um("x")
    assert low < aim_um(HeadMaterial.GREY_IRON) < high


def test_the_aluminium_aim_lies_past_the_end_of_the_scale():
    assert aim_um(HeadMaterial.ALUMINIUM) > interference_um("z")[1]
