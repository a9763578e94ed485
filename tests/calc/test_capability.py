"""Capability and shares against a statistics package, and a published example."""

from __future__ import annotations

import pytest
from scipy import stats

from app.calc.capability import capability, share_between
from app.calc.errors import CalculationError
from app.calc.units import Length

CHECKS = {
    "capability": "scipy.stats: normal fit and quantiles; NIST/SEMATECH e-Handbook 6.1.6, the "
    "example with limits 8 and 20, mean 16, s 2 (from memory); simulated coverage",
    "share_between": "scipy.stats.binomtest, Wilson's interval",
}
LEAST, MOST = Length.of(".0030"), Length.of(".0050")


def drawn(count: int, seed: int = 7) -> list[int]:
    found = stats.norm(loc=104_000, scale=7_000).rvs(size=count, random_state=seed)
    return [round(each) for each in found]


def test_the_published_example_comes_out() -> None:
    # Two sizes apart by 2·√2 have s = 2: mean 16, limits 8 and 20, in nanometres times 1e6.
    apart = round(2**0.5 * 1e6)
    sizes = [16_000_000 - apart, 16_000_000 + apart]
    found = capability(
        count=2,
        total_nm=sum(sizes),
        total_nm2=sum(x * x for x in sizes),
        least=Length(8_000_000),
        most=Length(20_000_000),
    )
    assert found.window == pytest.approx(1.0, rel=1e-6)
    assert found.index == pytest.approx(2 / 3, rel=1e-6)


@pytest.mark.parametrize("count", [25, 200])
def test_mean_spread_and_index_agree_with_the_package(count: int) -> None:
    sizes = drawn(count)
    found = capability(
        count=count,
        total_nm=sum(sizes),
        total_nm2=sum(x * x for x in sizes),
        least=LEAST,
        most=MOST,
    )
    mean, deviation = stats.tmean(sizes), stats.tstd(sizes)
    assert found.mean.nm == pytest.approx(mean, abs=1)
    assert found.deviation.nm == pytest.approx(deviation, abs=1)
    assert found.window == pytest.approx((MOST.nm - LEAST.nm) / (6 * deviation))
    # The nearer limit lies 3·C standard deviations from the mean.
    beyond = stats.norm(mean, deviation).sf(MOST.nm)
    assert stats.norm.sf(3 * found.index) == pytest.approx(max(beyond, 1e-12), rel=1e-6)


def test_the_bounds_of_the_index_hold_the_true_one_about_95_times_of_100() -> None:
    true = (MOST.nm - 104_000) / (3 * 7_000)
    held = 0
    for seed in range(400):
        sizes = drawn(60, seed)
        found = capability(
            count=60,
            total_nm=sum(sizes),
            total_nm2=sum(x * x for x in sizes),
            least=LEAST,
            most=MOST,
        )
        held += found.low <= true <= found.high
    assert 0.91 <= held / 400 <= 0.98


@pytest.mark.parametrize(("count", "of"), [(0, 3), (3, 3), (24, 25), (180, 200)])
def test_a_share_lies_where_the_package_says(count: int, of: int) -> None:
    theirs = stats.binomtest(count, of).proportion_ci(method="wilson")
    assert share_between(count=count, of=of) == pytest.approx((theirs.low, theirs.high), abs=1e-6)


def test_nothing_is_said_of_too_few_or_of_sizes_all_alike() -> None:
    with pytest.raises(CalculationError):
        capability(count=1, total_nm=5, total_nm2=25, least=LEAST, most=MOST)
    with pytest.raises(CalculationError):
        capability(count=3, total_nm=15, total_nm2=75, least=LEAST, most=MOST)
    with pytest.raises(CalculationError):
        share_between(count=0, of=0)
