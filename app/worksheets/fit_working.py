"""One fit worked out: in heat, going in, pressed; in words that weigh most first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from app.calc.assembly import CHILLS, Assembly, assembly
from app.calc.errors import CalculationError
from app.calc.hot_expansion import mean_expansion
from app.calc.materials import REFERENCE_C, HeadMaterial
from app.calc.press_fit import DRY_METAL, IdClosing, Parts, PressFit, press_fit, ring_id_closing
from app.calc.running_fit import Case, CaseFit, RunningFit, running_fit
from app.calc.trace import Step
from app.calc.units import Length
from app.workflow.fit_advice import (
    PRESS_CAVEAT,
    STRESS_CAVEAT,
    Advice,
    assembly_advice,
    closing_advice,
    heat_advice,
    size_advice,
)
from app.workflow.heat_cases import HeldCase
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Chill
from app.worksheets.fit_grip import Grip, cap_c, head_to_cap, ring_shrink
from app.worksheets.fit_steps import assembly_steps, press_steps, sourced

SENTENCES = 3  # as many stand on a page before the fold
# What weighs most has a place before the fold, and is the one line of a bench page.
_WEIGHT = (
    "loosened_hot",
    "tight_for_size",
    "light_for_size",
    "expansion_unknown",
    "tightens_hot",
    "one_heat",
    "press",
    "light_drive",
    "drops_in",
    "over_the_cap",
    "with_more_heat",
    "bore_closes",
)
GOING_IN = ("press", "light_drive", "drops_in", "over_the_cap", "with_more_heat", "one_heat")
_FROM = {
    Chill.NONE: "Not chilled",
    Chill.FREEZER: "From a freezer",
    Chill.DRY_ICE: "From dry ice",
    Chill.LIQUID_NITROGEN: "From liquid nitrogen",
}


@dataclass(frozen=True)
class Fit:
    """What a page tells of one fit: words first, then the cases, then every working."""

    grip: Grip
    names: tuple[str, ...]
    says: tuple[Advice, ...]
    missing: tuple[str, ...]  # figures that nobody has given yet, and what each would tell
    cases: tuple[CaseFit, ...]
    heat_steps: tuple[Step, ...]
    assembly_steps: tuple[Step, ...]
    press_steps: tuple[Step, ...]
    caveats: tuple[str, ...]

    @property
    def first(self) -> tuple[Advice, ...]:
        """The weightiest sentences, as they are read."""
        chosen = sorted(self.says, key=_weight)[:SENTENCES]
        return tuple(one for one in self.says if one in chosen)

    @property
    def more(self) -> tuple[Advice, ...]:
        """The other sentences."""
        return tuple(one for one in self.says if one not in self.first)

    @property
    def line(self) -> Advice | None:
        """The one line of a bench page."""
        return min(self.says, key=_weight, default=None)

    def beside(self, line: Advice | None) -> tuple[Advice, ...]:
        """The sentences that a bench page folds away."""
        return tuple(one for one in self.says if one != line)

    @property
    def going_in(self) -> tuple[str, ...]:
        """How the ring would go in: chill, head temperature, what heating does to others."""
        told = tuple(one.words for one in self.says if one.key in GOING_IN)
        return told or self.missing[:1]


def work_fit(grip: Grip, cases: Sequence[HeldCase], rules: ShopRules, names: Sequence[str]) -> Fit:
    """Everything that the figures allow; what is not known is named instead."""
    running = _running(grip, cases)
    going = going_in(grip, rules, rules.word("chill", Chill))
    pressed = _pressed(grip, rules)
    says = list(
        size_advice(
            interference=grip.interference,
            ring_od=grip.ring_od,
            material=HeadMaterial(grip.material.value),
            unit=grip.unit,
        )
    )
    if cases:
        says += heat_advice(
            cases=running.cases if running else None,
            cold=grip.interference,
            unit=grip.unit,
            little_left=rules.length("little_left"),
        )
    if going is not None:
        says += assembly_advice(
            assembly=going,
            others_in=grip.others_in,
            head_is_heated=going.head_c_to_follow is not None,
            unit=grip.unit,
            start=_start(rules),
        )
    if pressed is not None:
        says += closing_advice(closing=pressed[1], unit=grip.unit)
    return Fit(
        grip=grip,
        names=tuple(names),
        says=tuple(says),
        missing=_missing(grip, going),
        cases=running.cases if running else (),
        heat_steps=sourced(running.working, {"I₂₀": grip.told}) if running else (),
        assembly_steps=assembly_steps(grip, going, rules) if going else (),
        press_steps=press_steps(grip, pressed[0], cases, rules) if pressed else (),
        caveats=(STRESS_CAVEAT, PRESS_CAVEAT) if pressed else (),
    )


def _weight(advice: Advice) -> int:
    return _WEIGHT.index(advice.key)


def _running(grip: Grip, cases: Sequence[HeldCase]) -> RunningFit | None:
    if not grip.ring.points or not grip.head.points or not cases:
        return None
    return running_fit(
        diameter=grip.ring_od,
        interference=grip.interference,
        cases=[_case(grip, held) for held in cases],
        unit=grip.unit.value,
    )


def _case(grip: Grip, held: HeldCase) -> Case:
    ring = mean_expansion(points=grip.ring.points, temperature_c=held.ring_c)
    head = mean_expansion(points=grip.head.points, temperature_c=held.head_c)
    cited = "; ".join(dict.fromkeys((held.source, ring.source, head.source)))
    return Case(held.name, held.ring_c, held.head_c, ring.alpha_per_k, head.alpha_per_k, cited)


def going_in(
    grip: Grip, rules: ShopRules, chill: Chill, clearance: Length | None = None
) -> Assembly | None:
    """Into a head at 20 °C, with the temperature that would let it drop in; None when unknown.

    `clearance` is what it is to drop in with; the shop's rule when nobody chose another.
    """
    curve = ring_shrink(grip.ring)
    if chill is not Chill.NONE and curve is None:
        return None
    cold = chill is not Chill.NONE and curve is not None
    try:
        return assembly(
            diameter=grip.ring_od,
            interference=grip.interference,
            head_alpha_per_k=head_to_cap(grip, rules).alpha_per_k,
            ring_c=CHILLS[chill.value].ring_c,
            head_c=REFERENCE_C,
            clearance_wanted=rules.length("drop_in_clearance") if clearance is None else clearance,
            curve=curve.curve if cold and curve else None,
            curve_scale=curve.scale if cold and curve else 1,
            # A ring that is not chilled does not shrink, whatever it is made of.
            alpha_per_k=None if cold else Fraction(0),
            head_cap_c=cap_c(grip, rules),
            unit=grip.unit.value,
        )
    except CalculationError:
        return None


def _pressed(grip: Grip, rules: ShopRules) -> tuple[PressFit, IdClosing] | None:
    parts = _parts(grip, rules)
    if parts is None or grip.ring_height is None:
        return None
    try:
        pressed = press_fit(
            interference=grip.interference,
            parts=parts,
            height=grip.ring_height,
            friction_low=DRY_METAL[0],
            friction_high=DRY_METAL[1],
            unit=grip.unit.value,
        )
        closing = ring_id_closing(interference=grip.interference, parts=parts, unit=grip.unit.value)
    except CalculationError:
        return None
    return pressed, closing


def _parts(grip: Grip, rules: ShopRules) -> Parts | None:
    of_ring, of_head = grip.ring.stiffness, grip.head.stiffness
    if of_ring is None or of_head is None or grip.ring_id is None:
        return None
    behind = rules.length("metal_behind")
    return Parts(
        ring_id=grip.ring_id,
        ring_od=grip.ring_od,
        head_od=grip.ring_od + behind + behind,
        ring=of_ring.elastic,
        head=of_head.elastic,
    )


def _missing(grip: Grip, going: Assembly | None) -> tuple[str, ...]:
    found = []
    if going is None and not grip.ring.points:
        found.append(
            f"Expansion of the ring ({grip.ring.name}): its maker's figure tells whether it would "
            "drop in, and what heat does to the fit."
        )
    if grip.ring.stiffness is None:
        found.append(
            f"Modulus and Poisson's ratio of the ring ({grip.ring.name}): with its maker's figures "
            "pressure, stresses and force can be worked."
        )
    if grip.ring_id is None:
        found.append(
            "The ring's inside: read on one ring of the set, it lets pressure, force and the "
            "closing of the ring be worked."
        )
    return tuple(found)


def _start(rules: ShopRules) -> str:
    chill = rules.word("chill", Chill)
    cold = "" if chill is Chill.NONE else f" at {CHILLS[chill.value].ring_c:g} °C"
    return f"{_FROM[chill]}{cold}, into a head at {REFERENCE_C} °C,".replace("-", "−")
