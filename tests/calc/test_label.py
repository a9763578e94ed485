"""The box label is compared and questioned, and never worked from."""

import pytest

from app.calc.errors import MissingError
from app.calc.label import LabelMeans, label_question, may_be_built_in, over_label
from app.calc.units import Length

CHECKS = {
    "label_question": "common practice: a set that stands alike by .002 to .009 in over its label "
    "may have the interference built in",
    "may_be_built_in": "common practice, ends .002 and .009 in",
    "over_label": "subtraction by hand: computed trade figures 1.6291 on a 1.625 label",
}


def asked(*od: str, means: LabelMeans = LabelMeans.UNKNOWN) -> bool:
    return label_question(
        ring_ods_nm=[Length.of(one).nm for one in od],
        label_od=Length.of("1 5/8"),
        label_means=means,
        alike_within=Length.of(".0010"),
    ).asks


def test_a_set_alike_over_its_label_is_asked_about():
    assert asked("1.6291", "1.6290", "1.6292", "1.6291")


def test_a_ring_under_its_label_is_told_with_its_sign():
    label = Length.of("1.625")
    assert over_label(measured_nm=Length.of("1.6291").nm, label=label) == Length.of(".0041")
    assert over_label(measured_nm=Length.of("1.6246").nm, label=label) == Length.of("-.0004")


def test_one_odd_ring_is_no_sign_of_built_in_interference():
    assert not asked("1.6291", "1.6290", "1.6252")
    assert not asked("1.6271", "1.6290")


@pytest.mark.parametrize(
    ("means", "is_asked"),
    [
        (LabelMeans.UNKNOWN, True),
        (LabelMeans.RING_OD, True),
        (LabelMeans.COUNTERBORE, False),
        (LabelMeans.UNRELATED, False),
    ],
)
def test_what_was_settled_is_not_asked_again(means: LabelMeans, is_asked: bool):
    assert asked("1.6291", means=means) is is_asked


@pytest.mark.parametrize(
    ("difference", "found"),
    [(".0019", False), (".0020", True), (".0090", True), (".0091", False), ("-.0040", False)],
)
def test_the_doubtful_band_has_its_ends_included(difference: str, found: bool):
    assert may_be_built_in(difference=Length.of(difference)) is found


def test_a_label_needs_a_measured_ring_beside_it():
    with pytest.raises(MissingError):
        asked()
