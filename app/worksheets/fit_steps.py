"""The working of a fit: each step as calculated, with where its figures come from here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from app.calc.assembly import Assembly
from app.calc.gauge import shown_ppm
from app.calc.press_fit import PressFit
from app.calc.sources import MEASURED
from app.calc.stiffness import (
    ALUMINIUM_HOT_SOURCE,
    Strength,
    StrengthKind,
    aluminium_yield_mpa,
)
from app.calc.trace import Step
from app.calc.units import decimal_text, exact, trimmed
from app.workflow.heat_cases import HeldCase
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Chill, Material
from app.worksheets.fit_grip import Grip, cap_key, head_to_cap, ring_shrink

_LIMITS = {
    StrengthKind.YIELD: "yield strength",
    StrengthKind.TENSILE: "tensile strength",
    StrengthKind.COMPRESSIVE_YIELD: "yield strength in compression",
}


def assembly_steps(
    grip: Grip,
    going: Assembly,
    rules: ShopRules,
    *,
    chill: Chill | None = None,
    clearance_from: str = "",
) -> tuple[Step, ...]:
    """Cold, warm and what is left to drive, with the materials they rest on.

    `chill` and where the clearance comes from are the shop's rules unless they are named.
    """
    grows, curve = head_to_cap(grip, rules), ring_shrink(grip.ring)
    steps = list(going.working)
    if (chill or rules.word("chill", Chill)) is Chill.NONE:
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
    return sourced(
        steps,
        {
            "d": MEASURED,
            "g": "no heat yet",
            "I": grip.told,
            "c_w": clearance_from or rules.source("drop_in_clearance"),
            "T": rules.source(cap_key(grip)) if going.is_capped else steps[-1].source,
        },
    )


def press_steps(
    grip: Grip, pressed: PressFit, cases: Sequence[HeldCase], rules: ShopRules
) -> tuple[Step, ...]:
    """Pressure, stresses and force, with the strengths to compare them with."""
    of_ring, of_head = grip.ring.stiffness, grip.head.stiffness
    assert of_ring is not None
    assert of_head is not None
    steps = sourced(
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
        f"to compare: {_LIMITS[strength.kind]} of the {part}, {name}{words}",
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


def sourced(steps: Iterable[Step], sources: Mapping[str, str]) -> tuple[Step, ...]:
    """Steps whose figures were given, with where they come from here."""
    return tuple(
        replace(step, source=sources[step.symbol]) if step.symbol in sources else step
        for step in steps
    )
