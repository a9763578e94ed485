"""The press fit against published problems and a finite-element model."""

from math import pi

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.press_fit import CAVEAT, Contact, Elastic, Parts, contact, press_fit, ring_id_closing
from app.calc.units import Length
from tests.calc.finite_elements import Solid, pressed

SHIGLEY = "Budynas and Nisbett, Shigley's Mechanical Engineering Design, 8th ed., solutions manual"
CHECKS = {
    "press_fit": f"{SHIGLEY}: problems 3-68, 3-69 and 5-35; finite elements with scikit-fem",
    "contact": f"{SHIGLEY}: problem 5-35; finite elements with scikit-fem",
    "ring_id_closing": "displacement of the ring's bore by the finite-element model's hoop stress",
}

GPA_PER_PSI = 6.894757293168361e-6
MPA_PER_PSI = 6.894757293168361e-3
STEEL_PSI = Elastic(30e6 * GPA_PER_PSI, 0.292)
IRON_PSI = Elastic(14.5e6 * GPA_PER_PSI, 0.211)


def mm(size: float) -> Length:
    return Length.of(str(size), "mm")


def shaft_in(head: Elastic) -> Contact:
    """A solid steel shaft of 1 in in a hub of 2 in, .002 in apart."""
    parts = Parts(Length(0), Length.of("1"), Length.of("2"), ring=STEEL_PSI, head=head)
    return contact(interference=Length.of(".002"), parts=parts)


def test_a_steel_shaft_in_a_steel_hub():
    """Shigley, problem 3-68: p 22 500 psi, hub 37 500, shaft −22 500."""
    found = shaft_in(STEEL_PSI)
    assert found.pressure_mpa / MPA_PER_PSI == pytest.approx(22_500, rel=1e-4)
    assert found.head_bore_hoop_mpa / MPA_PER_PSI == pytest.approx(37_500, rel=1e-4)
    assert found.ring_od_hoop_mpa / MPA_PER_PSI == pytest.approx(-22_500, rel=1e-4)
    assert found.ring_bore_hoop_mpa == found.ring_od_hoop_mpa


def test_a_steel_shaft_in_an_iron_hub():
    """Shigley, problem 3-69: p 13 064 psi, hub 21 770, shaft −13 064."""
    found = shaft_in(IRON_PSI)
    assert found.pressure_mpa / MPA_PER_PSI == pytest.approx(13_064, rel=2e-4)
    assert found.head_bore_hoop_mpa / MPA_PER_PSI == pytest.approx(21_770, rel=2e-4)
    assert found.ring_od_hoop_mpa / MPA_PER_PSI == pytest.approx(-13_064, rel=2e-4)


def test_a_ring_in_a_ring():
    """Shigley, problem 5-35: p 19.41 MPa, ring's OD −32.35, housing's bore +50.47."""
    steel = Elastic(207, 0.292)
    parts = Parts(mm(25), mm(50), mm(75), ring=steel, head=steel)
    found = contact(interference=mm(0.02), parts=parts)
    assert found.pressure_mpa == pytest.approx(19.41, rel=3e-4)
    assert found.ring_od_hoop_mpa == pytest.approx(-32.35, rel=3e-4)
    assert found.head_bore_hoop_mpa == pytest.approx(50.47, rel=3e-4)


def test_finite_elements_agree():
    """scikit-fem: ring 31/38.1 mm in 70 mm aluminium, .100 mm; pressure 48.8965 MPa."""
    model = pressed(
        ring=Solid(200e3, 0.3),
        head=Solid(71e3, 0.33),
        ring_id=31,
        ring_od=38.1,
        head_od=70,
        height=7,
        interference=0.1,
    )
    parts = Parts(mm(31), mm(38.1), mm(70), ring=Elastic(200, 0.3), head=Elastic(71, 0.33))
    found = contact(interference=mm(0.1), parts=parts)
    assert found.pressure_mpa == pytest.approx(48.8965, abs=5e-4)
    assert found.pressure_mpa == pytest.approx(model.pressure, rel=1e-5)
    assert found.head_bore_hoop_mpa == pytest.approx(model.head_bore_hoop, rel=2e-3)
    assert found.ring_bore_hoop_mpa == pytest.approx(model.ring_bore_hoop, rel=2e-3)
    closes = ring_id_closing(interference=mm(0.1), parts=parts)
    by_model = 31 * -model.ring_bore_hoop / 200e3
    assert closes.ring_id_closes_by.nm * 1e-6 == pytest.approx(by_model, rel=2e-3)
    assert closes.ring_id_pressed == mm(31) - closes.ring_id_closes_by


@pytest.mark.parametrize(
    ("head", "interference", "pressure", "hoop", "von_mises", "ring_bore"),
    [
        (Elastic(105, 0.26), ".004", 28, 108, 125, -199),
        (Elastic(72, 0.33), ".005", 29, 111, 128, -205),
        (Elastic(72, 0.33), ".007", 41, 156, 179, -287),
        (Elastic(72, 0.33), ".009", 52, 200, 231, -369),
    ],
)
def test_the_trades_stresses_come_out(head, interference, pressure, hoop, von_mises, ring_bore):
    """Computed trade figures: 1.625 in ring, wall .250 in behind it (consistency)."""
    parts = Parts(
        Length.of("1.375"), Length.of("1.625"), Length.of("2.125"), Elastic(120, 0.26), head
    )
    found = press_fit(
        interference=Length.of(interference),
        parts=parts,
        height=Length.of(".250"),
        friction_low=0.10,
        friction_high=0.20,
    )
    assert found.pressure_mpa == pytest.approx(pressure, rel=0.03)
    assert found.head_bore_hoop_mpa == pytest.approx(hoop, rel=0.03)
    assert found.head_bore_von_mises_mpa == pytest.approx(von_mises, rel=0.03)
    assert found.ring_bore_hoop_mpa == pytest.approx(ring_bore, rel=0.03)


def test_the_force_is_a_range_and_its_arithmetic_is_friction_on_the_grip():
    """F = μπdLp: 2048, 4097, 6145 N at μ .05, .10, .15 (derived; consistency)."""
    parts = Parts(mm(31), mm(38.1), mm(70), ring=Elastic(200, 0.3), head=Elastic(71, 0.33))

    def force(low: float, high: float) -> tuple[float, float]:
        return press_fit(
            interference=mm(0.1), parts=parts, height=mm(7), friction_low=low, friction_high=high
        ).force_n

    assert force(0.05, 0.10) == pytest.approx((2048, 4097), abs=1)
    assert force(0.15, 0.15) == pytest.approx((6145, 6145), abs=1)
    assert force(0, 0.2)[0] == 0


RINGS = st.tuples(
    st.integers(0, 140_000_000), st.integers(10_000_000, 150_000_000), st.integers(1, 300_000_000)
)
MODULI = st.floats(1, 1000)
RATIOS = st.floats(0, 0.499)


@given(RINGS, st.integers(1, 1_000_000), MODULI, RATIOS, MODULI, RATIOS)
def test_head_and_ring_together_take_up_the_whole_interference(
    ring, interference, e_ring, nu_ring, e_head, nu_head
):
    """u of head − u of ring = δ/2 at the joint, from each side's own stresses (Hooke)."""
    ring_id, ring_od, wall = ring
    assume(ring_id < ring_od)
    parts = Parts(
        Length(ring_id),
        Length(ring_od),
        Length(ring_od + wall),
        Elastic(e_ring, nu_ring),
        Elastic(e_head, nu_head),
    )
    found = contact(interference=Length(interference), parts=parts)
    p = found.pressure_mpa
    grows = ring_od * (found.head_bore_hoop_mpa + nu_head * p) / (e_head * 1000)
    closes = ring_od * (found.ring_od_hoop_mpa + nu_ring * p) / (e_ring * 1000)
    assert grows - closes == pytest.approx(interference, rel=1e-9)
    if ring_id:
        expected = -2 * p * ring_od**2 / (ring_od**2 - ring_id**2)
        assert found.ring_bore_hoop_mpa == pytest.approx(expected, rel=1e-9)


def test_nothing_pressed_is_nothing_stressed_and_no_minus_nought():
    parts = Parts(mm(31), mm(38.1), mm(70), ring=Elastic(200, 0.3), head=Elastic(71, 0.33))
    found = contact(interference=Length(0), parts=parts)
    assert str(found.ring_od_hoop_mpa) == str(found.ring_bore_hoop_mpa) == "0.0"


def test_the_working_shows_two_digits_and_says_what_they_are_not():
    parts = Parts(mm(31), mm(38.1), mm(70), ring=Elastic(200, 0.3), head=Elastic(71, 0.33))
    found = press_fit(
        interference=mm(0.1),
        parts=parts,
        height=mm(7),
        friction_low=0.1,
        friction_high=0.2,
        unit="mm",
    )
    shown = {step.symbol: step.value for step in found.working}
    assert shown["p"] == "49"
    assert shown["σ_b"] == "-290"
    assert shown["F"] == "4100 to 8200"
    assert shown["Δa"] == "0.04"
    assert found.working[-1].text == CAVEAT
    grip = pi * 38.1 * 7
    assert found.force_n[0] == pytest.approx(0.1 * grip * found.pressure_mpa)


GOOD = {"ring_id": mm(31), "ring_od": mm(38.1), "head_od": mm(70)}


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"ring_id": mm(38.1)}, "ring_id"),
        ({"ring_id": Length(-1)}, "ring_id"),
        ({"head_od": mm(38.1)}, "head_od"),
        ({"ring": Elastic(0, 0.3)}, "ring.e_gpa"),
        ({"ring": Elastic(200, 0.5)}, "ring.nu"),
        ({"head": Elastic(float("nan"), 0.3)}, "head.e_gpa"),
        ({"head": Elastic(71, -0.1)}, "head.nu"),
    ],
)
def test_parts_that_cannot_lie_in_one_another_are_refused(change: dict, field: str):
    parts = Parts(**{**GOOD, "ring": Elastic(200, 0.3), "head": Elastic(71, 0.33), **change})
    with pytest.raises(CalculationError) as refused:
        ring_id_closing(interference=mm(0.1), parts=parts)
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"interference": Length(-1)}, "interference"),
        ({"height": Length(0)}, "height"),
        ({"friction_low": 0.3}, "friction"),
        ({"friction_low": -0.1}, "friction"),
        ({"friction_high": float("inf")}, "friction"),
    ],
)
def test_a_press_that_cannot_be_is_refused(change: dict, field: str):
    asked = {
        "interference": mm(0.1),
        "parts": Parts(**GOOD, ring=Elastic(200, 0.3), head=Elastic(71, 0.33)),
        "height": mm(7),
        "friction_low": 0.1,
        "friction_high": 0.2,
    }
    with pytest.raises(CalculationError) as refused:
        press_fit(**{**asked, **change})
    assert refused.value.field == field
