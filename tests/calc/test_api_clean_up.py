"""POST /api/calc/clean-up."""

from typing import Any

import pytest

from tests.calc.api_client import refused_fields, worked

POCKET: dict[str, Any] = {
    "target_bore": "1.6321",
    "old_bore_max": "1.6150",
    "old_run_out": ".006",
    "stock": ".001",
}


def test_a_pocket_that_cleans_up_has_something_to_spare():
    found = worked("clean-up", **POCKET)
    assert found["cleans_up"] is True
    assert found["spare"] == {"nm": 115_570, "in": "0.00455", "mm": "0.11557"}


def test_a_pocket_that_does_not_says_by_how_much():
    found = worked("clean-up", **{**POCKET, "target_bore": "1.6221"})
    assert found["cleans_up"] is False
    assert found["spare"]["in"] == "-0.00045"


def test_nothing_to_spare_cleans_up():
    found = worked("clean-up", **{**POCKET, "target_bore": "1.6230"})
    assert found["cleans_up"] is True
    assert found["spare"] == {"nm": 0, "in": "0", "mm": "0"}


@pytest.mark.parametrize("field", POCKET)
def test_every_figure_is_needed(field: str):
    assert refused_fields("clean-up", **{**POCKET, field: None}) == [field]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("target_bore", "160 mm"),
        ("old_bore_max", "9 mm"),
        ("old_run_out", "-.001"),
        ("stock", "5.1 mm"),
        ("stock", {"nm": 1}),
    ],
)
def test_an_implausible_figure_is_refused(field: str, value: Any):
    assert refused_fields("clean-up", **{**POCKET, field: value}) == [field]
