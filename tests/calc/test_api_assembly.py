"""Will it drop in, over HTTP."""

from fractions import Fraction

import pytest

from tests.calc.api_client import refused_fields, worked

ASKED = {
    "diameter": "1.625 in",
    "interference": ".007 in",
    "ring": {"curve": "304"},
    "head_alpha_per_k": 22e-6,
    "ring_c": -196,
    "head_c": 120,
    "clearance_wanted": ".001 in",
}


def test_it_works_by_a_curve():
    """NIST fit of 304 at 77.15 K, typed out here; 20 °C is the curve's 293 K."""
    answer = worked("assembly", **ASKED)
    t = Fraction("77.15")
    terms = ("-2.9554E2", "-3.9811E-1", "9.2683E-3", "-2.0261E-5", "1.7127E-8")
    y = sum(Fraction(one) * t**power for power, one in enumerate(terms))
    shrinks, grows = -41_275_000 * y / 100_000, Fraction(41_275_000 * 22 * 100, 1_000_000)
    assert answer["ring_shrinks_by"]["nm"] == round(shrinks)
    assert answer["head_grows_by"]["nm"] == round(grows)
    assert answer["clearance"]["nm"] == round(shrinks + grows - 177_800)
    assert answer["way"] == "drops_in"
    needed = 20 + (177_800 + 25_400 - shrinks) / (41_275_000 * Fraction(22, 1_000_000))
    assert answer["head_c_needed"] == pytest.approx(float(needed), rel=1e-12)


def test_it_works_by_a_coefficient():
    answer = worked(
        "assembly", **{**ASKED, "ring": {"alpha_per_k": 11.3e-6}, "ring_c": -18, "head_c": 90}
    )
    assert answer["ring_shrinks_by"]["nm"] == round(41_275_000 * 11.3e-6 * 38)
    assert answer["way"] == "press"


def test_the_temperature_needed_is_not_capped():
    asked = {**ASKED, "ring": {"alpha_per_k": 0}, "interference": ".009"}
    assert worked("assembly", **asked)["head_c_needed"] == pytest.approx(299.72, abs=0.01)


@pytest.mark.parametrize("alpha", [0, 5e-324])
def test_a_head_that_does_not_expand_gets_no_temperature(alpha: float):
    assert worked("assembly", **{**ASKED, "head_alpha_per_k": alpha})["head_c_needed"] is None


def test_an_unused_null_is_not_given():
    both = {"curve": "304", "alpha_per_k": None}
    assert worked("assembly", **{**ASKED, "ring": both}) == worked("assembly", **ASKED)


def test_a_hot_ring_grows_instead():
    asked = {**ASKED, "ring": {"alpha_per_k": 11.3e-6}, "ring_c": 120}
    assert worked("assembly", **asked)["ring_shrinks_by"]["nm"] < 0


@pytest.mark.parametrize(
    ("change", "fields"),
    [
        ({"ring": {}}, ["ring"]),
        ({"ring": None}, ["ring"]),
        ({"ring": "304"}, ["ring"]),
        ({"ring": {"curve": "304", "alpha_per_k": 1e-5}}, ["ring"]),
        ({"ring": {"curve": "M2"}}, ["ring.curve"]),
        ({"ring": {"alpha_per_k": 11.3}}, ["ring.alpha_per_k"]),
        ({"ring": {"alpha_per_k": True}}, ["ring.alpha_per_k"]),
        ({"ring": {"curve": "304", "family": "steel"}}, ["ring.family"]),
        ({"ring_c": 26.86}, ["ring_c"]),
        ({"ring_c": -269.16}, ["ring_c"]),
        ({"ring": {"curve": "9_ni_steel"}, "ring_c": 20}, ["ring_c"]),
        ({"ring_c": None}, ["ring_c"]),
        ({"head_c": 1201}, ["head_c"]),
        ({"clearance_wanted": "-.001"}, ["clearance_wanted"]),
        ({"clearance_wanted": None}, ["clearance_wanted"]),
        ({"interference": "1.1 mm"}, ["interference"]),
        ({"head_alpha_per_k": None}, ["head_alpha_per_k"]),
        ({"head_cap_c": 150}, ["head_cap_c"]),
    ],
)
def test_a_wrong_request_names_its_field(change: dict, fields: list[str]):
    assert refused_fields("assembly", **{**ASKED, **change}) == fields
