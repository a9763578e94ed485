"""Cold shrink against the published curves and an independent copy of them."""

from fractions import Fraction

import pytest
import spacemat

from app.calc.errors import CalculationError
from app.calc.expansion import CURVES, NEAREST_CURVES, Curve, expansion, kelvin, ring_curve
from app.calc.materials import RING_MATERIALS

CHECKS = {
    "expansion": "NIST cryogenic material properties (2000): values at 77, 195 and 253.15 K; "
    "`spacemat` for 6061 and 304",
    "kelvin": "the unit's definition, BIPM: 0 °C is 273.15 K",
    "ring_curve": "scaled ferrous and bronze rings against computed trade figures at -18, -78.5, "
    "-196 °C; the coefficients are Callister's table B.6",
}


@pytest.mark.parametrize(
    ("curve", "at_77", "at_195", "at_253"),
    [
        (Curve.ALUMINIUM_6061, -388.732, -212.581, -89.641),
        (Curve.STAINLESS_304, -279.890, -146.213, -60.721),
        (Curve.BERYLLIUM_COPPER, -296.046, -158.251, -67.860),
        (Curve.NICKEL_STEEL_9, -190.354, -103.621, -45.922),
    ],
)
def test_the_published_fits_come_out(curve: Curve, at_77: float, at_195: float, at_253: float):
    found = [
        expansion(curve=curve, temperature_k=Fraction(t)).change_1e5
        for t in ("77", "195", "253.15")
    ]
    assert found == pytest.approx([at_77, at_195, at_253], abs=5e-4)


@pytest.mark.parametrize(
    ("curve", "name"), [(Curve.ALUMINIUM_6061, "6061-T6"), (Curve.STAINLESS_304, "304")]
)
def test_an_independent_copy_agrees(curve: Curve, name: str):
    theirs = next(
        found.curves["thermal_contraction_pct"]
        for found in spacemat.load_all()
        if name in found.name and "thermal_contraction_pct" in found.curves
    )
    low, high = max(30, round(theirs.t_min)), min(293, round(theirs.t_max))
    for t in range(low, high + 1, 10):
        ours = -expansion(curve=curve, temperature_k=t).change_1e5 / 1000
        assert ours == pytest.approx(theirs.at(t), abs=1e-9), t


@pytest.mark.parametrize("curve", Curve)
def test_the_constant_meets_the_curve_where_it_begins(curve: Curve):
    fit = CURVES[curve]
    under = expansion(curve=curve, temperature_k=fit.flat_below_k - Fraction(1, 1000)).change_1e5
    at = expansion(curve=curve, temperature_k=fit.flat_below_k).change_1e5
    assert under == float(fit.flat_1e5)
    assert at == pytest.approx(under, abs=0.02)


@pytest.mark.parametrize("curve", Curve)
def test_colder_is_never_longer(curve: Curve):
    fit = CURVES[curve]
    changes = [
        expansion(curve=curve, temperature_k=t).exact_1e5
        for t in range(fit.flat_below_k + 6, fit.highest_k + 1)
    ]
    assert changes == sorted(changes)


@pytest.mark.parametrize("curve", [one for one in Curve if one is not Curve.NICKEL_STEEL_9])
def test_a_curve_is_near_nothing_at_its_own_reference(curve: Curve):
    assert expansion(curve=curve, temperature_k=293).change_1e5 == pytest.approx(0, abs=0.8)


def test_a_room_temperature_coefficient_overstates_the_shrink_to_liquid_nitrogen_by_a_third():
    by_curve = -expansion(curve=Curve.STAINLESS_304, temperature_k=77).change_1e5
    by_coefficient = 17.2e-6 * (293 - 77) * 1e5
    assert by_coefficient / by_curve == pytest.approx(1.33, abs=0.01)


def test_the_9_nickel_steels_slope_at_its_end_is_its_coefficient_here():
    fit = CURVES[Curve.NICKEL_STEEL_9]
    step = Fraction(1, 100)
    rise = (
        expansion(curve=Curve.NICKEL_STEEL_9, temperature_k=265).exact_1e5
        - expansion(curve=Curve.NICKEL_STEEL_9, temperature_k=265 - step).exact_1e5
    )
    assert float(rise / step) * 1e-5 == pytest.approx(float(fit.room_alpha_per_k), rel=5e-3)


@pytest.mark.parametrize(
    ("curve", "temperature_k"),
    [
        (Curve.STAINLESS_304, 3.999),
        (Curve.STAINLESS_304, 300.001),
        (Curve.NICKEL_STEEL_9, 265.001),
        (Curve.STAINLESS_304, -1),
    ],
)
def test_outside_its_range_a_curve_says_nothing(curve: Curve, temperature_k: float):
    with pytest.raises(CalculationError) as refused:
        expansion(curve=curve, temperature_k=temperature_k, temperature_field="ring_c")
    assert refused.value.field == "ring_c"


@pytest.mark.parametrize(
    ("curve", "end"), [(Curve.STAINLESS_304, 300), (Curve.NICKEL_STEEL_9, 265)]
)
def test_the_ends_of_the_range_belong(curve: Curve, end: int):
    assert expansion(curve=curve, temperature_k=4).change_1e5 < -200
    assert expansion(curve=curve, temperature_k=end).change_1e5 < 20


def test_kelvin_is_exact_where_a_float_would_not_be():
    assert kelvin(temperature_c=26.85) == 300
    assert kelvin(temperature_c=-269.15) == 4


@pytest.mark.parametrize(
    ("temperature_c", "inches_per_inch"), [(-18, 0.0004), (-78.5, 0.0010), (-196, 0.0019)]
)
def test_ferrous_rings_shrink_as_the_trade_has_it(temperature_c: float, inches_per_inch: float):
    """Computed trade figures per inch of diameter (consistency), to their one digit."""
    found = ring_curve(ring_material="unknown", alpha_per_k=11.3e-6)
    assert found is not None
    change = expansion(curve=found.curve, temperature_k=kelvin(temperature_c=temperature_c))
    shrink = -float(change.exact_1e5 * found.scale) * 1e-5
    assert shrink == pytest.approx(inches_per_inch, abs=0.00006)


def test_bronze_in_liquid_nitrogen_shrinks_about_half_again_as_much_as_iron():
    def shrink(material: str) -> Fraction:
        found = ring_curve(ring_material=material)
        assert found is not None
        return expansion(curve=found.curve, temperature_k=77).exact_1e5 * found.scale

    assert float(shrink("bronze") / shrink("grey_iron")) == pytest.approx(1.6, abs=0.15)


def test_a_metal_with_its_own_curve_is_not_scaled():
    found = ring_curve(ring_material="stainless")
    assert found is not None
    assert (found.curve, found.scale) == (Curve.STAINLESS_304, 1)


def test_the_makers_figure_scales_the_nearest_curve():
    found = ring_curve(ring_material="sintered", alpha_per_k=13.56e-6)
    assert found is not None
    assert found.scale == Fraction(12, 10)
    assert "scaled by 13.56/11.3" in found.words


def test_every_family_has_a_nearest_curve_and_none_without_a_coefficient_is_guessed():
    assert set(NEAREST_CURVES) == set(RING_MATERIALS)
    unknown = [key for key in RING_MATERIALS if ring_curve(ring_material=key) is None]
    assert unknown == [key for key, one in RING_MATERIALS.items() if one.expansion is None]


def test_a_family_that_is_not_known_is_refused():
    with pytest.raises(CalculationError) as refused:
        ring_curve(ring_material="plutonium")
    assert refused.value.field == "ring_material"
