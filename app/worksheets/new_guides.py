"""A new guide in the head, by the same verdict as a seat ring in its counterbore."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.calc.decision import DecisionRule as CalcRule
from app.calc.errors import CalculationError
from app.calc.guide import guide_fit, housing_bore
from app.calc.materials import HeadMaterial
from app.calc.rules import interference
from app.calc.target import Target
from app.calc.units import Length, mean_nm
from app.calc.verify import Verification
from app.workflow.doubtful import Doubt, odd_interference
from app.workflow.guide_outcomes import GuideOutcome
from app.workflow.kinds import Quantity, ResultKind, Verdict
from app.workflow.shop_rules import ShopRules
from app.workflow.words import DecisionRule, Material
from app.worksheets.guides import outcome
from app.worksheets.head_doubts import HeadDoubt
from app.worksheets.head_rows import PortRows
from app.worksheets.materials import MaterialFigures
from app.worksheets.results import AcceptedOf


@dataclass(frozen=True)
class Judged:
    """A grip held against the wanted one, worked now or as it was accepted."""

    verdict: Verdict
    interference: Length
    close_to_edge: bool
    least: Length
    most: Length

    @property
    def is_inside(self) -> bool:
        """In the window, whether or not it is near an edge."""
        return self.verdict in (Verdict.INSIDE, Verdict.DOUBTFUL)

    def told(self, unit: str) -> str:
        """``grip .0004, wanted .0010 to .0020: too loose``."""
        edge = ", close to an edge" if self.close_to_edge else ""
        said = "as wanted" if self.is_inside else self.verdict.screen
        window = f"{self.least.shown(unit)} to {self.most.shown(unit)}"
        return f"grip {self.interference.shown(unit)}, wanted {window}: {said}{edge}"


@dataclass(frozen=True)
class Grip:
    """What the readings of a new guide and its bore say; `open` names what is missing."""

    wanted: Target | None  # the bore in the head, from the guide as measured
    found: Verification | None
    least: Length
    most: Length
    open: str = ""

    @property
    def judged(self) -> Judged | None:
        """Held against the wanted grip, by these readings."""
        if self.found is None:
            return None
        return Judged(
            Verdict(self.found.verdict.value),
            self.found.interference,
            self.found.close_to_edge,
            self.least,
            self.most,
        )

    def told(self, unit: str) -> str:
        """The grip once guide and bore are read; before that the bore to make."""
        if self.judged is not None:
            return self.judged.told(unit)
        if self.wanted is None:
            return self.open
        low, high = self.wanted.bore_low.shown(unit), self.wanted.bore_high.shown(unit)
        bore = f"bore in the head {self.wanted.target_bore.shown(unit)} ({low} to {high})"
        return "; ".join(filter(None, [bore, self.open]))


@dataclass(frozen=True)
class Height:
    """How a new guide stands, against the old one where that was measured before it came out."""

    before: Length | None
    after: Length
    limit: Length

    @property
    def is_off(self) -> bool:
        """Further from the old one than the shop allows."""
        return self.before is not None and abs(self.after - self.before) > self.limit

    def told(self, unit: str) -> str:
        """Empty where there is nothing to be said."""
        if not self.is_off or self.before is None:
            return ""
        apart = self.after - self.before
        way = "higher" if apart.nm > 0 else "lower"
        return f"stands {abs(apart).shown(unit)} {way} than the old one"


def is_pressed_in(rows: PortRows) -> bool:
    """A new guide or a sleeve goes into this position."""
    said = outcome(rows)
    return said is not None and said.is_pressed_in


def grip_of(
    rows: PortRows, figures: MaterialFigures | None, rules: ShopRules, unit: str
) -> Grip | None:
    """The grip of a new guide or sleeve; None where none goes in.

    Its gauges are not told apart on the page, so the shop's figures for an outside diameter and a
    bore stand for the possible error.
    """
    if not is_pressed_in(rows):
        return None
    window = _window(rows, figures, rules)
    if window is None:
        return Grip(None, None, Length(0), Length(0), "say what the head is made of")
    least, most, source = window
    read = rows.new_guides
    outside = read.values(Quantity.NEW_GUIDE) if read else []
    housing = read.values(Quantity.GUIDE_HOUSING) if read else []
    if not outside:
        return Grip(None, None, least, most, "measure its outside")
    if not housing:
        wanted = _bore_wanted(outside, least, most, source, unit)
        return Grip(wanted, None, least, most, "measure the bore it goes into")
    if odd_grip(rows) is not None:
        return Grip(None, None, least, most, "a reading is in doubt")
    assert read is not None
    try:
        found = guide_fit(
            guide_od=outside,
            housing=housing,
            least=least,
            most=most,
            guide_uncertainty=rules.length("ring_uncertainty"),
            housing_uncertainty=rules.length("bore_uncertainty"),
            decision_rule=CalcRule(rules.word("decision_rule", DecisionRule).value),
            head_material=HeadMaterial(figures.family) if figures else None,
            alloy_expansion=figures.expansion if figures and figures.is_own else None,
            head_temperature_c=read.part_c,
            gauge_temperature_c=read.gauge_c,
            unit=unit,
        )
    except CalculationError as no:
        return Grip(None, None, least, most, str(no))
    return Grip(_bore_wanted(outside, least, most, source, unit), found, least, most)


def frozen_grip(accepted: AcceptedOf, port_id: int) -> tuple[Judged, str] | None:
    """As it was accepted when the position was signed, whatever the rules say by now; and why it
    no longer stands, if it does not."""
    kept = accepted.of_port(port_id, ResultKind.GUIDE_GRIP)
    if kept is None:
        return None
    record = kept.record
    judged = Judged(
        Verdict(record["verdict"]),
        Length(record["interference"]["nm"]),
        record["close_to_edge"],
        Length(record["inputs"]["interference_min"]["nm"]),
        Length(record["inputs"]["interference_max"]["nm"]),
    )
    return judged, kept.no_longer.because if kept.no_longer else ""


def height_of(rows: PortRows, rules: ShopRules) -> Height | None:
    """How the new guide stands; None until it was measured."""
    after = rows.new_guides.at(Quantity.DOWN_HEIGHT, "1") if rows.new_guides else None
    before = rows.new_guides.at(Quantity.DOWN_HEIGHT, "before") if rows.new_guides else None
    if after is None:
        return None
    return Height(before.value if before else None, after.value, rules.length("guide_height_apart"))


def grip_doubts(ports: Iterable[PortRows]) -> tuple[HeadDoubt, ...]:
    """New guides that their bores could not grip, or not without bursting."""
    return tuple(doubt for rows in ports if (doubt := odd_grip(rows)) is not None)


def odd_grip(rows: PortRows) -> HeadDoubt | None:
    """A guide no larger than its bore, or larger than any habit: the later reading is asked."""
    read = rows.new_guides
    if not is_pressed_in(rows) or read is None:
        return None
    outside, housing = read.of(Quantity.NEW_GUIDE), read.of(Quantity.GUIDE_HOUSING)
    if not outside or not housing:
        return None
    both = (*outside, *housing)
    if any(kept.kept_because for kept in both):
        return None
    apart = Length.nearest(
        mean_nm([kept.value for kept in outside]) - mean_nm([kept.value for kept in housing])
    )
    if apart.nm > 0 and odd_interference(apart, outside[-1].value) is None:
        return None
    later = max(both, key=lambda kept: kept.id)
    what = "sleeve" if outcome(rows) is GuideOutcome.SLEEVED else "guide"
    which = "no larger than" if apart.nm <= 0 else "far from"
    return HeadDoubt(
        rows.label,
        "",
        Doubt(later.id, later.typed, abs(apart), tuple(kept.typed for kept in both)),
        told=(
            f"{rows.label}: the {what} {outside[-1].typed} is {which} the bore "
            f"{housing[-1].typed} that is to grip it."
        ),
    )


def _window(
    rows: PortRows, figures: MaterialFigures | None, rules: ShopRules
) -> tuple[Length, Length, str] | None:
    if outcome(rows) is GuideOutcome.SLEEVED:
        keys = ("sleeve_grip_least", "sleeve_grip_most")
    elif figures is None:
        return None
    else:
        metal = "aluminium" if figures.family == Material.ALUMINIUM else "iron"
        keys = (f"guide_grip_least_{metal}", f"guide_grip_most_{metal}")
    least, most = (rules.length(key) for key in keys)
    return least, most, rules.source(keys[1])


def _bore_wanted(
    outside: list[Length], least: Length, most: Length, source: str, unit: str
) -> Target | None:
    try:
        window = interference(least=least, most=most)
        return housing_bore(guide_od=outside, window=window, rule_source=source, unit=unit)
    except CalculationError:
        return None
