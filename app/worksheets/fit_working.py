"""One fit worked out: heat cases, going in, press fit; each step with the source of its figures."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from app.calc.assembly import CHILLS, Assembly, assembly
from app.calc.errors import CalculationError
from app.calc.expansion import ScaledCurve, ring_curve
from app.calc.gauge import shown_ppm
from app.calc.hot_expansion import MeanExpansion, mean_expansion
from app.calc.materials import REFERENCE_C, RING_MATERIALS, HeadMaterial
from app.calc.press_fit import DRY_METAL, IdClosing, Parts, PressFit, press_fit, ring_id_closing
from app.calc.running_fit import Case, CaseFit, RunningFit, running_fit
from app.calc.sources import MEASURED
from app.calc.stiffness import ALUMINIUM_HOT_SOURCE, Strength, aluminium_yield_mpa
from app.calc.trace import Step
from app.calc.units import Length, decimal_text, exact, trimmed
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
from app.workflow.kinds import Unit
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Chill, Kind, Material
from app.worksheets.materials import MaterialFigures

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
class Grip:
    """A ring in its bore as far as it is known; alike grips have one fit."""

    unit: Unit
    material: Material
    kind: Kind
    interference: Length
    told: str  # where the interference comes from
    is_measured: bool
    ring_od: Length
    ring_id: Length | None
    ring_height: Length | None
    ring: MaterialFigures
    head: MaterialFigures
    others_in: bool
    ring_set_id: int


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
    going = _assembly(grip, rules)
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
        heat_steps=_sourced(running.working, {"I₂₀": grip.told}) if running else (),
        assembly_steps=_assembly_steps(grip, going, rules) if going else (),
        press_steps=_press_steps(grip, pressed[0], cases, rules) if pressed else (),
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


def _assembly(grip: Grip, rules: ShopRules) -> Assembly | None:
    """Into a head at 20 °C, with the temperature that would let it drop in; None when unknown."""
    chill = rules.word("chill", Chill)
    curve = _curve(grip.ring)
    if chill is not Chill.NONE and curve is None:
        return None
    cold = chill is not Chill.NONE and curve is not None
    try:
        return assembly(
            diameter=grip.ring_od,
            interference=grip.interference,
            head_alpha_per_k=_head_to_cap(grip, rules).alpha_per_k,
            ring_c=CHILLS[chill.value].ring_c,
            head_c=REFERENCE_C,
            clearance_wanted=rules.length("drop_in_clearance"),
            curve=curve.curve if cold and curve else None,
            curve_scale=curve.scale if cold and curve else 1,
            # A ring that is not chilled does not shrink, whatever it is made of.
            alpha_per_k=None if cold else Fraction(0),
            head_cap_c=_cap_c(grip, rules),
            unit=grip.unit.value,
        )
    except CalculationError:
        return None


def _curve(ring: MaterialFigures) -> ScaledCurve | None:
    alpha = ring.alpha_per_k
    if alpha is None:
        return None
    of_family = RING_MATERIALS[ring.family].expansion
    is_familys = of_family is not None and of_family.alpha_per_k == alpha
    return ring_curve(ring_material=ring.family, alpha_per_k=None if is_familys else alpha)


def _cap_c(grip: Grip, rules: ShopRules) -> float:
    return rules.number(_cap_key(grip))


def _cap_key(grip: Grip) -> str:
    return "head_c_cap" if grip.material is Material.ALUMINIUM else "head_c_cap_iron"


def _head_to_cap(grip: Grip, rules: ShopRules) -> MeanExpansion:
    return mean_expansion(points=grip.head.points, temperature_c=_cap_c(grip, rules))


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


def _assembly_steps(grip: Grip, going: Assembly, rules: ShopRules) -> tuple[Step, ...]:
    grows, curve = _head_to_cap(grip, rules), _curve(grip.ring)
    steps = list(going.working)
    if rules.word("chill", Chill) is Chill.NONE:
        steps = [step for step in steps if step.symbol != "s"]
    elif curve is not None and grip.ring.expansion is not None:
        steps.insert(
            1,
            Step(
                "α_r",
                f"ring, {grip.ring.name}: shrinks as {curve.words}",
                shown_ppm(grip.ring.expansion.alpha_per_k),
                "1e-6/K",
                grip.ring.expansion.source.cited,
            ),
        )
    steps.insert(
        1,
        Step(
            "α_h",
            f"head, {grip.head.name}: {grows.words}",
            shown_ppm(grows.alpha_per_k),
            "1e-6/K",
            grows.source,
        ),
    )
    return _sourced(
        steps,
        {
            "d": MEASURED,
            "g": "no heat yet",
            "I": grip.told,
            "c_w": rules.source("drop_in_clearance"),
            "T": rules.source(_cap_key(grip)) if going.is_capped else steps[-1].source,
        },
    )


def _press_steps(
    grip: Grip, pressed: PressFit, cases: Sequence[HeldCase], rules: ShopRules
) -> tuple[Step, ...]:
    of_ring, of_head = grip.ring.stiffness, grip.head.stiffness
    assert of_ring is not None
    assert of_head is not None
    steps = _sourced(
        (step for step in pressed.working if step.symbol != "caveat"),
        {
            "δ": grip.told,
            "a": MEASURED,
            "d": MEASURED,
            "D": f"ring's OD and the metal behind it on both sides, {rules.source('metal_behind')}",
            "E_r": of_ring.source.cited,
            "E_h": of_head.source.cited,
        },
    )
    strengths = [
        _strength_step(symbol, part, figures.name, figures.strength)
        for symbol, part, figures in (("R_h", "head", grip.head), ("R_r", "ring", grip.ring))
        if figures.strength is not None
    ]
    return (*steps, *strengths, *_hot_strength(grip, cases))


def _strength_step(symbol: str, part: str, name: str, strength: Strength) -> Step:
    low, high = (
        trimmed(decimal_text(exact(one), 1)) for one in (strength.low_mpa, strength.high_mpa)
    )
    words = f", {strength.words}" if strength.words and strength.words != name else ""
    return Step(
        symbol,
        f"to compare: {strength.kind.value} of the {part}, {name}{words}",
        low if low == high else f"{low} to {high}",
        "MPa",
        strength.source.cited,
    )


def _hot_strength(grip: Grip, cases: Sequence[HeldCase]) -> tuple[Step, ...]:
    """What heat leaves of a cast head alloy; an alloy of the shop's own has its maker's figure."""
    if grip.material is not Material.ALUMINIUM or grip.head.is_own or not cases:
        return ()
    hottest = max(cases, key=lambda one: one.head_c)
    left = aluminium_yield_mpa(temperature_c=hottest.head_c)
    return (
        Step(
            "R_T",
            f"to compare: yield of a conditioned cast head alloy at {hottest.head_c} °C "
            f"({hottest.name})",
            trimmed(decimal_text(exact(left), 0)),
            "MPa",
            ALUMINIUM_HOT_SOURCE.cited,
        ),
    )


def _sourced(steps: Iterable[Step], sources: Mapping[str, str]) -> tuple[Step, ...]:
    """Steps whose figures were given, with where they come from here."""
    return tuple(
        replace(step, source=sources[step.symbol]) if step.symbol in sources else step
        for step in steps
    )
