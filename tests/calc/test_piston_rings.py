"""Mean and spread of round parts against a published table of 25 × 5 diameters.

Montgomery, Introduction to Statistical Quality Control, table 6.3: inside diameters of 74 mm
rings, with the means and ranges that are printed beside its rows (from memory) and the grand
mean 74.00118 that two public statistics packages give for them.
"""

from fractions import Fraction

import pytest

from app.calc.materials import GAUGE_ALPHA_PER_K
from app.calc.overcut import Cut, overcut
from app.calc.ring import Ring, measured_ring
from app.calc.units import Length, mean_nm

# Thousandths of a millimetre; above 500 they stand below 74 mm.
ROWS = """
030 002 019 992 008 / 995 992 001 011 004 / 988 024 021 005 002 / 002 996 993 015 009
992 007 015 989 014 / 009 994 997 985 993 / 995 006 994 000 005 / 985 003 993 015 988
008 995 009 005 004 / 998 000 990 007 995 / 994 998 994 995 990 / 004 000 007 000 996
983 002 998 997 012 / 006 967 994 000 984 / 012 014 998 999 007 / 000 984 005 998 996
994 012 986 005 007 / 006 010 018 003 000 / 984 002 003 005 997 / 000 010 013 020 003
982 001 015 005 996 / 004 999 990 006 009 / 010 989 990 009 014 / 015 008 993 000 010
982 984 995 017 013
"""


def rings() -> list[list[Length]]:
    rows = ROWS.replace("\n", "/").split("/")
    return [[_diameter(figure) for figure in row.split()] for row in rows if row.strip()]


def _diameter(figure: str) -> Length:
    micrometres = int(figure) - (1000 if int(figure) > 500 else 0)
    return Length((74_000 + micrometres) * 1000)


def read(od: list[Length]) -> Ring:
    return measured_ring(
        od=od,
        height=[Length.of("2 mm")],
        temperature_c=20,
        gauge_temperature_c=20,
        alpha_per_k=GAUGE_ALPHA_PER_K,
        unit="mm",
    )


@pytest.mark.parametrize(
    ("row", "mean", "spread"),
    [
        (0, "74.0102", ".038"),
        (1, "74.0006", ".019"),
        (2, "74.0080", ".036"),
        (3, "74.0030", ".022"),
    ],
)
def test_a_ring_has_the_printed_mean_and_range(row: int, mean: str, spread: str) -> None:
    ring = read(rings()[row])
    assert ring.od == Length.of(mean, "mm")
    assert ring.od_spread == Length.of(spread, "mm")


def test_the_mean_of_all_rings_is_the_published_one() -> None:
    means = [read(od).od_nm for od in rings()]
    assert round(float(sum(means, Fraction(0)) / 25) / 1e6, 5) == 74.00118


def test_a_process_that_was_published_as_steady_gives_no_signal() -> None:
    """The first 25 samples are the book's own trial period, in control."""
    base = Length.of("73 mm")
    cuts = [Cut(base, Length.nearest(mean_nm(od))) for od in rings()]
    assert overcut(cuts=cuts, unit="mm").out_of_control == ()
