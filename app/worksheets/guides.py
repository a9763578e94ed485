"""What a guide's readings say: its shape, its clearance to the stem, the size to ream."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.calc.errors import CalculationError
from app.calc.guide import (
    GuideShape,
    ReamedSize,
    StemClearance,
    guide_shape,
    reamed_size,
    stem_clearance,
)
from app.calc.units import Length
from app.workflow.doubtful import Doubt
from app.workflow.guide_outcomes import GuideOutcome, outcome_of
from app.workflow.kinds import Quantity
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Kind
from app.worksheets.head_doubts import HeadDoubt
from app.worksheets.head_rows import PortRows

_HEIGHTS = ("top", "middle", "bottom")


@dataclass(frozen=True)
class Clearance:
    """A stem in its guide by bore and stem, held against the shop's limits for its kind."""

    found: StemClearance
    least: Length | None  # None: nothing was fitted anew, only wear is judged
    most: Length
    source: str
    is_tight: bool
    is_over: bool

    @property
    def is_inside(self) -> bool:
        """Neither too tight nor past the limit."""
        return not (self.is_tight or self.is_over)

    def told(self, unit: str) -> str:
        """``.0026 clear of the stem, inside .0010 to .0025``."""
        most = self.most.shown(unit)
        clear = f"{self.found.most.shown(unit)} clear of the stem"
        if self.is_tight and self.least is not None:
            closest = self.found.least.shown(unit)
            return (
                f"{closest} clear of the stem where it is closest, least {self.least.shown(unit)}"
            )
        if self.is_over:
            return f"{clear}, over the shop's {most}"
        if self.least is None:
            return f"{clear}, within the shop's {most}"
        return f"{clear}, inside {self.least.shown(unit)} to {most}"


@dataclass(frozen=True)
class Shape:
    """A guide read at three heights, held against the shop's bell-mouth."""

    found: GuideShape
    limit: Length

    @property
    def is_over(self) -> bool:
        """Bell-mouthed: a pilot leans in it."""
        return self.found.bell_mouth > self.limit

    def told(self, unit: str) -> str:
        """``bell-mouthed .0012 at the top, over the shop's .0010``; empty where it is not."""
        if not self.is_over:
            return ""
        wide = self.found.bell_mouth.shown(unit)
        limit = self.limit.shown(unit)
        return f"bell-mouthed {wide} at the {self.found.end}, over the shop's {limit}"

    def measured(self, unit: str) -> str:
        """What was found of its shape, within the limit or not."""
        over, found = self.told(unit), self.found
        if not over and found.bell_mouth.nm > 0:
            over = f"bell-mouth {found.bell_mouth.shown(unit)} at the {found.end}"
        round_told = ""
        if found.out_of_round:
            round_told = f"out of round {found.out_of_round.shown(unit)}"
        return ", ".join(filter(None, [over or "no bell-mouth", round_told]))


@dataclass(frozen=True)
class Rocking:
    """A guide read by rocking the valve, held against the limit for such readings only."""

    found: Length
    limit: Length

    @property
    def is_over(self) -> bool:
        """Worn, by rocking."""
        return self.found > self.limit

    def told(self, unit: str) -> str:
        """Both figures are by rocking; no clearance is made of them."""
        over = "over" if self.is_over else "within"
        limit = self.limit.shown(unit)
        return f"{self.found.shown(unit)} by rocking, {over} the shop's {limit} for it"


def outcome(rows: PortRows) -> GuideOutcome | None:
    """What was decided of a position's guide last."""
    work = rows.guide_work
    return outcome_of(work.decision, work.how) if work else None


def is_serviced(rows: PortRows) -> bool:
    """Something was done to the guide: a fresh clearance is wanted of it."""
    said = outcome(rows)
    return said is not None and said is not GuideOutcome.LEFT


def bores(rows: PortRows) -> list[Length]:
    """The guide's bores that count, wherever they were read."""
    return rows.guides.values(Quantity.GUIDE_BORE) if rows.guides else []


def stems(rows: PortRows) -> list[Length]:
    """The valve's stem as measured."""
    return rows.new_guides.values(Quantity.STEM) if rows.new_guides else []


def shape_of(rows: PortRows, rules: ShopRules, unit: str) -> Shape | None:
    """Both ends against the middle; None unless all three heights were read."""
    if rows.guides is None:
        return None
    read = {
        height: [
            kept.value
            for kept in rows.guides.of(Quantity.GUIDE_BORE)
            if kept.place.partition("-")[0] == height
        ]
        for height in _HEIGHTS
    }
    if not all(read.values()):
        return None
    found = guide_shape(top=read["top"], middle=read["middle"], bottom=read["bottom"], unit=unit)
    return Shape(found, rules.length("guide_bell_mouth"))


def clearance_of(rows: PortRows, rules: ShopRules, unit: str) -> Clearance | None:
    """Bore less stem against the limits of intakes or exhausts; None until both were measured."""
    guide, stem = bores(rows), stems(rows)
    if not guide or not stem or _odd_clearance(rows, rules):
        return None
    found = stem_clearance(guide=guide, stem=stem, unit=unit)
    kind = _kind(rows)
    if not is_serviced(rows):
        key = f"guide_worn_{kind}"
        most = rules.length(key)
        return Clearance(found, None, most, rules.source(key), False, found.most > most)
    least, most = _wanted(rows, rules)
    source = rules.source(f"guide_clearance_most_{kind}")
    return Clearance(found, least, most, source, found.least < least, found.most > most)


def rocking_of(rows: PortRows, rules: ShopRules) -> Rocking | None:
    """The newest reading by rocking, against its own limit."""
    found = rows.guides.one(Quantity.GUIDE_ROCKING) if rows.guides else None
    if found is None:
        return None
    return Rocking(found, rules.length(f"guide_rocking_{_kind(rows)}"))


def ream_of(rows: PortRows, rules: ShopRules, unit: str) -> ReamedSize | None:
    """What a serviced guide is to be reamed to for its measured stem."""
    stem = stems(rows)
    if not stem or not is_serviced(rows):
        return None
    least, most = _wanted(rows, rules)
    source = rules.source(f"guide_clearance_most_{_kind(rows)}")
    try:
        return reamed_size(stem=stem, least=least, most=most, rule_source=source, unit=unit)
    except CalculationError:
        return None  # the shop's least stands above its most: the page of rules shows both


def ream_told(found: ReamedSize, unit: str) -> str:
    """``ream to .3432 (.3425 to .3439)``."""
    return f"ream to {found.size.shown(unit)} ({found.low.shown(unit)} to {found.high.shown(unit)})"


def guide_remarks(rows: PortRows, rules: ShopRules, unit: str) -> list[str]:
    """What is to be said of a guide beside its readings."""
    shape = shape_of(rows, rules, unit)
    clear = clearance_of(rows, rules, unit)
    told = [shape.measured(unit)] if shape else []
    if clear is not None and not clear.is_inside:
        told.append(clear.told(unit))
        if not is_serviced(rows) and outcome(rows) is GuideOutcome.LEFT:
            told.append("it stays as it is")
    if not bores(rows) and (ream := ream_of(rows, rules, unit)) is not None:
        told.append(ream_told(ream, unit))
    return told


def worn_words(rows: PortRows, rules: ShopRules, unit: str) -> str:
    """What is wrong with a guide that a bore is to run true to; empty where nothing is known."""
    shape, clear, rocking = shape_of(rows, rules, unit), clearance_of(rows, rules, unit), None
    if clear is None:
        rocking = rocking_of(rows, rules)
    told = [
        shape.told(unit) if shape else "",
        clear.told(unit) if clear and not clear.is_inside else "",
        rocking.told(unit) if rocking and rocking.is_over else "",
    ]
    return "; ".join(filter(None, told))


def clearance_doubts(ports: Iterable[PortRows], rules: ShopRules) -> tuple[HeadDoubt, ...]:
    """Bores that no stem could run in as it was measured: a slip, or another valve's stem."""
    return tuple(doubt for rows in ports if (doubt := _odd_clearance(rows, rules)) is not None)


def _odd_clearance(rows: PortRows, rules: ShopRules) -> HeadDoubt | None:
    """The later of the two readings is the one that is asked about."""
    guide = rows.guides.of(Quantity.GUIDE_BORE) if rows.guides else ()
    stem = rows.new_guides.of(Quantity.STEM) if rows.new_guides else ()
    if not guide or not stem:
        return None
    most = rules.length("guide_clearance_asked")
    for bore in guide:
        apart = bore.value - stem[-1].value
        if Length(0) < apart < most or bore.kept_because or stem[-1].kept_because:
            continue
        later, other = (bore, stem[-1]) if bore.id > stem[-1].id else (stem[-1], bore)
        which = "no larger than" if apart.nm <= 0 else "far from"
        return HeadDoubt(
            rows.label,
            "",
            Doubt(later.id, later.typed, abs(apart), (other.typed,)),
            told=(
                f"{rows.label}: guide {bore.typed} is {which} the stem {stem[-1].typed} that "
                "runs in it."
            ),
        )
    return None


def _wanted(rows: PortRows, rules: ShopRules) -> tuple[Length, Length]:
    kind = _kind(rows)
    return (
        rules.length(f"guide_clearance_least_{kind}"),
        rules.length(f"guide_clearance_most_{kind}"),
    )


def _kind(rows: PortRows) -> str:
    return "exhaust" if rows.port.kind is Kind.EXHAUST else "intake"
