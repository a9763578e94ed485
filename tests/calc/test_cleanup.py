"""Whether the old pocket goes."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from app.calc.cleanup import clean_up
from app.calc.units import Length

CHECKS = {
    "clean_up": "common practice: half the growth must exceed the old pocket's offset and .001 to "
    ".002 in of stock; compared with circles laid out on a plane",
}


def pocket(target_bore: str, run_out: str = ".006", stock: str = ".001"):
    return clean_up(
        target_bore=Length.of(target_bore),
        old_bore_max=Length.of("1.6150"),
        old_run_out=Length.of(run_out),
        stock=Length.of(stock),
    )


def test_an_offset_pocket_does_not_clean_up_until_the_next_oversize():
    assert not pocket("1.6221").cleans_up
    assert pocket("1.6221").spare == Length.of("-.00045")
    assert pocket("1.6321").cleans_up


def test_nothing_to_spare_still_cleans_up():
    assert pocket("1.6230").spare == Length(0)
    assert pocket("1.6230").cleans_up


def test_a_bore_under_the_old_one_never_cleans_up():
    assert not pocket("1.6140", "0", "0").cleans_up


sizes = st.integers(30_000_000, 45_000_000).map(Length)
allowances = st.integers(0, 5_000_000).map(Length)


@given(sizes, sizes, allowances, allowances)
def test_spare_is_the_thinnest_cut_over_the_stock(
    bore: Length, old: Length, run_out: Length, stock: Length
):
    # The old circle stands off by half its indicator movement: its far side is nearest the cut.
    far_side = Fraction(run_out.nm, 2) + Fraction(old.nm, 2)
    thinnest = Fraction(bore.nm, 2) - far_side
    found = clean_up(target_bore=bore, old_bore_max=old, old_run_out=run_out, stock=stock)
    assert found.cleans_up == (thinnest >= stock.nm)
    assert abs(found.spare.nm - (thinnest - stock.nm)) <= Fraction(1, 2)


@given(sizes, sizes, allowances, allowances, st.sampled_from(["in", "mm"]))
def test_the_shown_figures_subtract(
    bore: Length, old: Length, run_out: Length, stock: Length, unit: str
):
    found = clean_up(
        target_bore=bore, old_bore_max=old, old_run_out=run_out, stock=stock, unit=unit
    )
    wall, offset, least, spare = (Fraction(step.value) for step in found.working[2:])
    assert wall - offset - least == spare
