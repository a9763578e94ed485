"""Cold, heat or both: how each chill would let a ring go in, and how hot its head would be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.calc.assembly import CHILLS, Assembly
from app.calc.trace import Step
from app.calc.units import Length
from app.workflow.fit_advice import GOES_IN
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Chill
from app.worksheets.fit_grip import Grip, cap_c, cap_key
from app.worksheets.fit_steps import assembly_steps
from app.worksheets.fit_working import Fit, going_in

CHOSEN = "chosen on this page"
NOT_KNOWN = "the ring's expansion is not known"


@dataclass(frozen=True)
class WayIn:
    """One chill: what it leaves to be driven cold, and the head that would let the ring drop in.

    `going` is None where the ring's expansion is not known, or the shop goes no colder.
    """

    chill: Chill
    ring_c: float
    going: Assembly | None
    refused: str
    steps: tuple[Step, ...]

    @property
    def cold_head(self) -> str:
        """``goes in with a light drive``: into a head that is not heated."""
        return _GOES[self.going.way.value] if self.going else ""

    @property
    def head_c(self) -> int | None:
        """The head for the clearance that is wanted; never above the cap."""
        going = self.going
        return None if going is None or going.is_capped else going.head_c_to_follow

    @property
    def needs_no_heat(self) -> bool:
        """The cold alone lets it drop in."""
        return self.going is not None and self.going.head_c_to_follow is None

    @property
    def at_cap(self) -> str:
        """Where the cap falls short: how the ring goes in there."""
        going = self.going
        return _GOES[going.way_to_follow.value] if going and going.is_capped else ""


@dataclass(frozen=True)
class RingsWays:
    """The tightest ring of a set stands for the others: what lets it in lets them in."""

    names: tuple[str, ...]
    tightest: str
    grip: Grip
    ways: tuple[WayIn, ...]
    cap_c: float
    cap_source: str
    clearance: Length

    @property
    def is_unknown(self) -> bool:
        """What the cold does to these rings is not known."""
        return any(way.refused == NOT_KNOWN for way in self.ways)

    def of(self, chill: Chill) -> WayIn:
        """One chill's line."""
        return next(way for way in self.ways if way.chill is chill)


_GOES = {
    "drops_in": "drops in",
    "light_drive": "light drive",
    "press": "press",
}
assert {way.value for way in GOES_IN} == set(_GOES)


def ways_in(
    fits: Sequence[Fit], rules: ShopRules, clearance: Length | None = None
) -> tuple[RingsWays, ...]:
    """Every chill for the rings of each set, at the clearance that is wanted."""
    by_set: dict[int, list[Fit]] = {}
    for fit in fits:
        by_set.setdefault(fit.grip.ring_set_id, []).append(fit)
    return tuple(_of_set(own, rules, clearance) for own in by_set.values())


def _of_set(fits: Sequence[Fit], rules: ShopRules, clearance: Length | None) -> RingsWays:
    tightest = max(fits, key=lambda fit: fit.grip.interference)
    grip = tightest.grip
    return RingsWays(
        names=tuple(name for fit in fits for name in fit.names),
        tightest=tightest.names[0],
        grip=grip,
        ways=tuple(_way(grip, rules, chill, clearance) for chill in Chill),
        cap_c=cap_c(grip, rules),
        cap_source=rules.source(cap_key(grip)),
        clearance=rules.length("drop_in_clearance") if clearance is None else clearance,
    )


def _way(grip: Grip, rules: ShopRules, chill: Chill, clearance: Length | None) -> WayIn:
    ring_c = CHILLS[chill.value].ring_c
    coldest = rules.number("ring_c_coldest")
    if chill is not Chill.NONE and ring_c < coldest:
        return WayIn(chill, ring_c, None, f"colder than {coldest:g} °C, the shop's limit", ())
    going = going_in(grip, rules, chill, clearance)
    if going is None:
        return WayIn(chill, ring_c, None, NOT_KNOWN, ())
    steps = assembly_steps(
        grip, going, rules, chill=chill, clearance_from="" if clearance is None else CHOSEN
    )
    return WayIn(chill, ring_c, going, "", steps)
