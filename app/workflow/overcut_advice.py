"""What to do, and what not, about how a cutter's tip cuts: in words, by the cuts on record.

Advice never chases noise: a few cuts say nothing, a sign within the dead band is left alone, and
one that is long past no longer counts. None of it changes a setting; corrections do, by their own
rule.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.overcut_signs import (
    FALSE_SIGNS_PER_THOUSAND,
    FEWEST_CUTS,
    RUN_LENGTH,
    OvercutSigns,
    Sign,
    SignKind,
)
from app.calc.shown import shown_nm
from app.calc.units import Length
from app.workflow.kinds import Said


class TipState(Said):
    """How a tip stands in one head material, in a word or two."""

    TOO_FEW = "too_few", "too few to tell"
    SCATTERS = "scatters", "only scatters"
    LEFT_ALONE = "left_alone", "leave it alone"
    STRAY = "stray", "one cut apart"
    SHIFTED = "shifted"
    DRIFTS = "drifts"

    @property
    def wants_a_look(self) -> bool:
        """Something stands that is larger than a shop leaves alone."""
        return self in (TipState.STRAY, TipState.SHIFTED, TipState.DRIFTS)


class WhyLeftOut(Said):
    """Why one cut says nothing of the tip."""

    CHATTER = "chatter", "chatter"
    CHIP = "chip", "a chip under the gauge"
    HARD_SPOT = "hard_spot", "a hard spot in the casting"
    MOVED = "moved", "the cutter or the head moved"
    OTHER = "other", "something else"


@dataclass(frozen=True, slots=True)
class OvercutAdvice:
    """What the cuts say, and what to do."""

    state: TipState
    says: str
    do: str


# A drift says most of the next cut, a lone stray least.
_WEIGHT = {SignKind.RISING: 2, SignKind.FALLING: 2, SignKind.RUN: 1, SignKind.BEYOND: 0}
_STATE = {
    SignKind.RISING: TipState.DRIFTS,
    SignKind.FALLING: TipState.DRIFTS,
    SignKind.RUN: TipState.SHIFTED,
    SignKind.BEYOND: TipState.STRAY,
}
_AFRESH = "When it is changed or ground, say so: the count starts afresh."
_MAY_BE = {
    SignKind.RISING: (
        "Look at the tip: metal built up on its edge, or a cutter that creeps in its holder, may "
        "cut larger from bore to bore."
    ),
    SignKind.FALLING: (
        "Look at the tip: an edge that goes dull, or a pilot that gives way, may cut smaller from "
        "bore to bore."
    ),
}


def tip_state(signs: OvercutSigns) -> TipState:
    """The word for one tip in one material."""
    if signs.too_few:
        return TipState.TOO_FEW
    weightiest = _weightiest(signs.standing)
    if weightiest is not None:
        return _STATE[weightiest.kind]
    if any(sign.stands for sign in signs.signs):
        return TipState.LEFT_ALONE
    return TipState.SCATTERS


def sign_words(sign: Sign) -> str:
    """One sign without its figure: ``6 in a row grow``, ``cut 8 beyond a limit``."""
    if sign.kind is SignKind.BEYOND:
        return f"cut {sign.last + 1} beyond a limit"
    if sign.kind is SignKind.RUN:
        return f"{sign.count} in a row {'over' if sign.size.nm > 0 else 'under'} the mean"
    return f"{sign.count} in a row {'grow' if sign.kind is SignKind.RISING else 'shrink'}"


def look_here(signs: OvercutSigns) -> str:
    """The weightiest sign that stands, for a list; empty when nothing wants a look."""
    weightiest = _weightiest(signs.standing)
    return sign_words(weightiest) if weightiest else ""


def advise(signs: OvercutSigns, *, dead_band: Length, goes_under: bool, unit: str) -> OvercutAdvice:
    """What one tip's cuts in one material say; `goes_under`: a first pass would go under size."""
    state = tip_state(signs)
    band = _short(dead_band, unit)
    mean = "A new setting uses their mean, never the last cut"
    under = ", and its first pass goes under size" if goes_under else ""
    if state is TipState.TOO_FEW:
        says = f"Too few to tell: {signs.count} of the {FEWEST_CUTS} cuts that it takes."
        return OvercutAdvice(state, says, f"{mean}{under}.")
    if state is TipState.SCATTERS:
        rough = " With so few the limits are rough." if signs.count < RUN_LENGTH else ""
        says = f"As far as {signs.count} cuts can tell, they scatter by chance.{rough}"
        return OvercutAdvice(state, says, f"Leave it alone. {mean}{under}.")
    if state is TipState.LEFT_ALONE:
        newest = [sign for sign in signs.signs if sign.stands][-1]
        says = f"{_told(newest, signs, unit)} That is within ±{band}."
        return OvercutAdvice(state, says, f"Leave it alone. {mean}{under}.")
    sign = _weightiest(signs.standing)
    assert sign is not None
    return OvercutAdvice(state, _told(sign, signs, unit), _to_do(sign))


def chance_words(count: int) -> str:
    """How often chance alone would be called after so many cuts; empty below the fewest."""
    known = [cuts for cuts in FALSE_SIGNS_PER_THOUSAND if cuts <= count]
    if not known:
        return ""
    of_thousand = FALSE_SIGNS_PER_THOUSAND[max(known)]
    about = "fewer than 1" if of_thousand < 10 else f"about {round(of_thousand / 10)}"
    return (
        f"Chance gives such signs too: of a hundred tips that only scatter, {about} would show "
        "one here all the same."
    )


def _weightiest(signs: tuple[Sign, ...]) -> Sign | None:
    return max(signs, key=lambda sign: (_WEIGHT[sign.kind], sign.last), default=None)


def _told(sign: Sign, signs: OvercutSigns, unit: str) -> str:
    size = shown_nm(abs(sign.size.nm), unit)
    side = "over" if sign.size.nm > 0 else "under"
    if sign.kind is SignKind.BEYOND:
        return (
            f"Cut {sign.last + 1} lies {size} {side} the mean, beyond where single cuts of this "
            "tip lie."
        )
    is_last = sign.last == signs.count - 1
    which = (
        f"The last {sign.count} cuts" if is_last else f"Cuts {sign.first + 1} to {sign.last + 1}"
    )
    if sign.kind is SignKind.RUN:
        return f"{which} all lie {side} the mean, by {size} taken together."
    verb = ("grow" if is_last else "grew") if sign.kind is SignKind.RISING else "shrink"
    verb = "shrank" if verb == "shrink" and not is_last else verb
    since = "" if is_last else " What was cut since did not go on so."
    return f"{which} {verb} from one to the next, by {size} in all.{since}"


def _to_do(sign: Sign) -> str:
    if sign.kind is SignKind.BEYOND:
        return (
            "Ask what was different there: chatter, a chip under the gauge, a hard spot. With a "
            "reason, leave that cut out of the mean; without one, leave the setting alone: one "
            "cut says little of the next."
        )
    if sign.kind is SignKind.RUN:
        return (
            f"By these cuts something may have changed at cut {sign.first + 1}: the tip, its "
            f"holder, the pilot, how the fixture is read. Look there. {_AFRESH} Until then a new "
            "setting uses the mean of all."
        )
    return f"{_MAY_BE[sign.kind]} {_AFRESH} Do not set against the last cut."


def _short(length: Length, unit: str) -> str:
    """``.0002``: a shop rule with no more digits than it has."""
    least = 4 if unit == "in" else 3
    whole, _, digits = length.shown(unit, 8, 6).partition(".")
    return f"{whole}.{digits.rstrip('0').ljust(least, '0')}"
