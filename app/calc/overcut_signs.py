"""Signs that a tip does not only scatter: a cut beyond a limit, a run on one side, a steady drift.

Each sign also comes by chance now and then. So none is sought in a handful of cuts, one that is
long past no longer stands, and what a shop would leave alone is told apart from what it would not.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from itertools import pairwise

from app.calc.errors import CalculationError
from app.calc.overcut import DEAD_BAND, Cut, overcut
from app.calc.shown import shown_nm
from app.calc.sources import INDIVIDUALS_CHART, MEASURED, RUN_RULES
from app.calc.trace import Calculation, Result, Step
from app.calc.units import Length, mean_nm

FEWEST_CUTS = 5
RUN_LENGTH = 8
TREND_LENGTH = 6
# A sign stands while one of so many newest cuts belongs to it.
STANDS_FOR = 8
# Of a thousand tips that only scatter, how many show a standing sign all the same after so many
# cuts: worked out here from 20 000 tips of independent normal cuts each, with no dead band.
FALSE_SIGNS_PER_THOUSAND = {5: 4, 8: 23, 20: 51, 50: 63}


class SignKind(Enum):
    """What the cuts do that scatter seldom does."""

    BEYOND = "beyond a limit"
    RUN = "on one side"
    RISING = "growing"
    FALLING = "shrinking"


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign over the cuts `first` to `last`, counted from 0, both among them.

    `size` has its own meaning for each kind: a cut beyond a limit less the mean; the mean of a run
    less the mean that it is a run from; the last of a growing or shrinking row less its first.
    """

    kind: SignKind
    first: int
    last: int
    size: Length
    # Beyond the dead band: more than a shop would leave alone.
    is_large: bool
    # One of the newest cuts belongs to it.
    stands: bool

    @property
    def count(self) -> int:
        """How many cuts belong to it."""
        return self.last - self.first + 1


@dataclass(frozen=True, kw_only=True)
class OvercutSigns(Result):
    """The signs in one tip's cuts, in the order in which they end."""

    count: int
    too_few: bool
    signs: tuple[Sign, ...]

    @property
    def standing(self) -> tuple[Sign, ...]:
        """Those that stand and are too large to be left alone, the newest last."""
        return tuple(sign for sign in self.signs if sign.stands and sign.is_large)


def overcut_signs(
    *, cuts: Sequence[Cut], dead_band: Length = DEAD_BAND, unit: str = "in"
) -> OvercutSigns:
    """Cuts beyond a limit, eight or more on one side of the mean, six or more growing or shrinking.

    kᵢ = measured − set; beyond: kᵢ outside k̄ ± 3/1.128 · MR̄ of all cuts; on one side: every
    kᵢ > k̄′, or every kᵢ < k̄′, with k̄′ the mean of the cuts within the limits, because one stray
    would put all others on its far side; growing: every kᵢ₊₁ > kᵢ; shrinking: every kᵢ₊₁ < kᵢ.
    A cut on the mean ends a run, equal neighbours end a growing or shrinking row.

    Below five cuts nothing is sought. Chance alone gives signs too: by 20 000 tips of independent
    normal cuts and no dead band, of a thousand tips that only scatter 4 show a standing sign after
    5 cuts, 23 after 8, 51 after 20, 63 after 50; nearly a third of them show one at some time in
    50 cuts, which is why a sign that is long past no longer stands.

    Parameters
    ----------
    cuts : sequence of Cut
        oldest first, of one tip in one head material since the tip was changed or ground;
        may be empty [nm]
    dead_band : Length
        a sign no larger than this is not large: the shop leaves it alone; a shop rule [nm]
    unit : str
        ``in`` or ``mm``, in which the working is shown [-]

    Raises
    ------
    CalculationError
        field ``dead_band``, when negative.

    >>> base = Length.of("1.62")
    >>> tip = [Cut(base, base + Length.of(".0001") * n) for n in (3, 2, 3, 4, 5, 6, 7, 3)]
    >>> [(sign.kind.value, sign.first, sign.last, sign.size.inches(4))
    ...  for sign in overcut_signs(cuts=tip).signs]
    [('growing', 1, 6, '.0005')]
    >>> overcut_signs(cuts=tip[:4]).too_few
    True
    """
    if dead_band.nm < 0:
        raise CalculationError("dead_band", "cannot be negative")
    values = [cut.measured - cut.set_size for cut in cuts]
    too_few = len(values) < FEWEST_CUTS
    found = [] if too_few else sorted(_found(cuts, values), key=lambda each: each[2:0:-1])
    signs = tuple(
        Sign(
            kind=kind,
            first=first,
            last=last,
            size=Length.nearest(size),
            is_large=abs(size) > dead_band.nm,
            stands=last >= len(values) - STANDS_FOR,
        )
        for kind, first, last, size in found
    )
    return OvercutSigns(
        calculation=Calculation("overcut_signs", 1),
        inputs={"cuts": tuple(cuts), "dead_band": dead_band},
        working=(
            Step(
                "n",
                f"cuts; none is judged below {FEWEST_CUTS}" if too_few else "cuts judged",
                str(len(values)),
                "",
                MEASURED,
            ),
            *(_step(sign, unit) for sign in signs),
        ),
        count=len(values),
        too_few=too_few,
        signs=signs,
    )


def _found(
    cuts: Sequence[Cut], values: Sequence[Length]
) -> Iterator[tuple[SignKind, int, int, Fraction]]:
    mean = mean_nm(values)
    beyond = set(overcut(cuts=cuts).out_of_control)
    for index in beyond:
        yield SignKind.BEYOND, index, index, values[index].nm - mean
    within = [value for index, value in enumerate(values) if index not in beyond]
    # Two steady levels leave no cut within: then the mean of all is the only one there is.
    usual = mean_nm(within) if within else mean
    for way in (1, -1):
        # Whole numbers: fractions of a long record are slow.
        on_side = [(value.nm * usual.denominator - usual.numerator) * way > 0 for value in values]
        for first, last in _stretches(on_side, RUN_LENGTH):
            yield SignKind.RUN, first, last, mean_nm(values[first : last + 1]) - usual
    for kind, way in ((SignKind.RISING, 1), (SignKind.FALLING, -1)):
        steps = [(later.nm - earlier.nm) * way > 0 for earlier, later in pairwise(values)]
        for first, last in _stretches(steps, TREND_LENGTH - 1):
            # So many steps join one cut more.
            yield kind, first, last + 1, Fraction(values[last + 1].nm - values[first].nm)


def _stretches(holds: Sequence[bool], least: int) -> Iterator[tuple[int, int]]:
    """Unbroken stretches of `least` or more, each as long as it can be."""
    start = 0
    for place, here in enumerate([*holds, False]):
        if not here:
            if place - start >= least:
                yield start, place - 1
            start = place + 1


def _step(sign: Sign, unit: str) -> Step:
    if sign.kind is SignKind.BEYOND:
        which = "upper" if sign.size.nm > 0 else "lower"
        words = f"cut {sign.last + 1} beyond the {which} limit: less the mean"
        return Step("e", words, shown_nm(sign.size.nm, unit), unit, INDIVIDUALS_CHART.cited)
    what = "their mean less the usual one" if sign.kind is SignKind.RUN else "last less first"
    words = f"cuts {sign.first + 1} to {sign.last + 1} {sign.kind.value}: {what}"
    return Step("e", words, shown_nm(sign.size.nm, unit), unit, RUN_RULES.cited)
