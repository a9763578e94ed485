"""The overcut question over HTTP."""

import pytest

from tests.calc.api_client import refused_fields, worked

FLOW_RATES = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)


def test_it_works():
    answer = worked(
        "overcut",
        cuts=[{"set": "1.6218", "measured": "1.6221"}, {"set": "1.6218", "measured": "1.6222"}],
    )
    assert answer["mean"] == {"nm": 8890, "in": "0.00035", "mm": "0.00889"}
    assert answer["count"] == 2
    assert answer["chart"]["mean_moving_range"]["nm"] == 2540
    assert answer["out_of_control"] == []


def test_the_chart_is_the_handbooks():
    """NIST/SEMATECH e-Handbook 6.3.2.2, as millimetres over a set size of 60."""
    answer = worked(
        "overcut", unit="mm", cuts=[{"set": 60, "measured": 60 + rate} for rate in FLOW_RATES]
    )
    assert answer["chart"]["centre"]["mm"] == "50.81"
    assert answer["chart"]["high"]["nm"] == pytest.approx(55_804_100, abs=100)
    assert answer["chart"]["low"]["nm"] == pytest.approx(45_815_900, abs=100)


def test_a_single_cut_has_null_spread_and_chart():
    answer = worked("overcut", cuts=[{"set": "1.6218", "measured": "1.6215"}])
    assert answer["mean"]["in"] == "-0.0003"
    assert answer["standard_deviation"] is None
    assert answer["chart"] is None


def test_a_cut_beyond_a_limit_is_named_by_its_index():
    measured = ["1.6203"] * 7 + ["1.6220"] + ["1.6203", "1.6204"] * 4
    answer = worked("overcut", cuts=[{"set": "1.6200", "measured": size} for size in measured])
    assert answer["out_of_control"] == [7]


@pytest.mark.parametrize(
    ("request_fields", "fields"),
    [
        ({}, ["cuts"]),
        ({"cuts": []}, ["cuts"]),
        ({"cuts": None}, ["cuts"]),
        ({"cuts": [None]}, ["cuts[0]"]),
        ({"cuts": ["1.6"]}, ["cuts[0]"]),
        ({"cuts": [{"set": "1.6218"}]}, ["cuts[0].measured"]),
        ({"cuts": [{"set": "1.6218", "measured": "41.2"}]}, ["cuts[0].measured"]),
        ({"cuts": [{"set": True, "measured": "1.6"}]}, ["cuts[0].set"]),
        ({"cuts": [{"set": "1.6", "measured": "1.6", "tip": "1"}]}, ["cuts[0].tip"]),
        ({"cuts": [{"set": "1.6", "measured": "1.6"}], "rate": 1}, ["rate"]),
        ({"cuts": [{"set": "1.6", "measured": "1.6"}] * 1001}, ["cuts"]),
    ],
)
def test_a_wrong_request_names_its_field(request_fields: dict, fields: list[str]):
    assert refused_fields("overcut", **request_fields) == fields
