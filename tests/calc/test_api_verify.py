"""The verdict over HTTP."""

import pytest

from tests.calc.api_client import refused_fields, refused_raw, worked

ASKED = {
    "ring_od": ["1.6262", "1.6260", "1.6261", "1.6263"],
    "bore": ["1.6222"],
    "interference": {"min": ".003", "max": ".005"},
    "ring_uncertainty": ".0003",
    "bore_uncertainty": ".0004",
    "decision_rule": "full_guard",
}


def test_it_works():
    answer = worked("verify", **ASKED)
    assert answer["interference"] == {"nm": 100_330, "in": "0.00395", "mm": "0.10033"}
    assert answer["interference_least"]["in"] == "0.0038"
    assert answer["interference_most"]["in"] == "0.0041"
    assert answer["uncertainty"]["in"] == "0.0005"
    assert (answer["accept_low"]["in"], answer["accept_high"]["in"]) == ("0.0035", "0.0045")
    assert answer["bore_spread"]["nm"] == 0
    assert answer["verdict"] == "inside"


@pytest.mark.parametrize(
    ("rule", "accept_low"),
    [("simple", "0.003"), ("iso_14253_1_2017", "0.003415"), ("full_guard", "0.0035")],
)
def test_each_rule_keeps_its_share(rule: str, accept_low: str):
    assert worked("verify", **{**ASKED, "decision_rule": rule})["accept_low"]["in"] == accept_low


@pytest.mark.parametrize(
    ("bore", "verdict"),
    [
        ("1.62315", "doubtful"),
        ("1.62316", "loose"),
        ("1.62265", "inside"),
        ("1.62266", "doubtful"),
        ("1.62115", "doubtful"),
        ("1.62114", "tight"),
    ],
)
def test_verdicts_turn_at_the_ends_and_the_ends_belong(bore: str, verdict: str):
    assert worked("verify", **{**ASKED, "bore": [bore]})["verdict"] == verdict


def test_an_accepted_part_turned_over_leaves_doubt():
    answer = worked("verify", **{**ASKED, "bore_uncertainty": ".002"})
    assert answer["accept_low"]["nm"] > answer["accept_high"]["nm"]
    assert answer["verdict"] == "doubtful"


def test_a_bore_larger_than_the_ring_is_loose():
    answer = worked("verify", **{**ASKED, "bore": ["1.6300"]})
    assert answer["interference"]["nm"] < 0
    assert answer["verdict"] == "loose"


def test_a_warm_bore_needs_the_material_and_is_taken_to_twenty_degrees():
    warm = {**ASKED, "bore_temperature_c": 40}
    assert refused_fields("verify", **warm) == ["head_material"]
    assert refused_fields("verify", **warm, head_material=None) == ["head_material"]
    answer = worked("verify", **warm, head_material="aluminium")
    expected = 41_304_210 - 41_203_880 / (1 + 21.5e-6 * 20)
    assert answer["interference"]["nm"] == pytest.approx(expected, abs=0.51)


def test_a_warm_gauge_alone_needs_no_material():
    answer = worked("verify", **ASKED, gauge_temperature_c=30)
    expected = 41_304_210 - 41_203_880 * (1 + 11.5e-6 * 10)
    assert answer["interference"]["nm"] == pytest.approx(expected, abs=0.51)


def test_null_takes_the_default():
    plain = worked("verify", **ASKED)
    assert worked("verify", **ASKED, bore_temperature_c=None, gauge_temperature_c=None) == plain


@pytest.mark.parametrize(
    ("change", "fields"),
    [
        ({"ring_od": []}, ["ring_od"]),
        ({"ring_od": ["1.6262", None]}, ["ring_od[1]"]),
        ({"ring_od": ["1.6262", False]}, ["ring_od[1]"]),
        ({"bore": "1.6222"}, ["bore"]),
        ({"bore": ["41.2"]}, ["bore[0]"]),
        ({"interference": {"min": ".006", "max": ".005"}}, ["interference.min"]),
        ({"interference": {"min": ".003"}}, ["interference.max"]),
        ({"interference": {"min": "-.001", "max": ".005"}}, ["interference.min"]),
        ({"interference": {"min": ".003", "aim": ".004", "max": ".005"}}, ["interference.aim"]),
        ({"ring_uncertainty": None}, ["ring_uncertainty"]),
        ({"bore_uncertainty": "-.0001"}, ["bore_uncertainty"]),
        ({"decision_rule": "Simple"}, ["decision_rule"]),
        ({"decision_rule": None}, ["decision_rule"]),
        ({"head_material": "steel"}, ["head_material"]),
        ({"bore_temperature_c": "40"}, ["bore_temperature_c"]),
        ({"bore_temperature_c": 1201}, ["bore_temperature_c"]),
        ({"gauge_temperature_c": True}, ["gauge_temperature_c"]),
        ({"protrusion": 0}, ["protrusion"]),
    ],
)
def test_a_wrong_request_names_its_field(change: dict, fields: list[str]):
    assert refused_fields("verify", **{**ASKED, **change}) == fields


@pytest.mark.parametrize("literal", [b"NaN", b"Infinity", b"-Infinity", b"1e999"])
def test_what_is_no_number_is_refused_by_its_field(literal: bytes):
    body = (
        b'{"ring_od":["1.6262"],"bore":["1.6222"],"interference":{"min":".003","max":".005"},'
        b'"ring_uncertainty":0,"bore_uncertainty":0,"decision_rule":"simple",'
        b'"gauge_temperature_c":' + literal + b"}"
    )
    assert refused_raw("verify", body) == ["gauge_temperature_c"]
