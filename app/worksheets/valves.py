"""Valves and springs of a head: what follows from the readings of one position, in words."""

from __future__ import annotations

from dataclasses import dataclass

from app.calc.seat_valve import SpringShim, StemHeight, ValveContact, spring_shim, stem_height
from app.calc.trace import Step
from app.calc.units import Length
from app.calc.valve_gear import SpringOff, TipLeft, spring_off, tip_left
from app.workflow.kinds import Quantity, ValveState
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Kind
from app.worksheets.contacts import contact_asks, contact_words
from app.worksheets.finished_seats import stem_now
from app.worksheets.head_rows import PortRows
from app.worksheets.readings import Readings
from app.worksheets.sinking import Sinking, sinking, sunk_asks, sunk_words

Q = Quantity
NOTHING = Length(0)
STEM_AGAIN = "stem height was read before the valve was worked on: read it again"


@dataclass(frozen=True, slots=True)
class ValveRow:
    """One valve with its spring: `follows` was worked, `asks` is what a shop rule questions.

    `moved` is what a record prints with the seat.
    """

    label: str
    state: ValveState | None
    stem: StemHeight | None
    tip: TipLeft | None
    shim: SpringShim | None
    spring: SpringOff | None
    sinking: Sinking | None
    wanted: ValveContact | None
    moved: tuple[str, ...]
    follows: tuple[str, ...]
    asks: tuple[str, ...]
    contact: tuple[str, ...]  # how it differs from what is wanted

    @property
    def workings(self) -> tuple[tuple[str, tuple[Step, ...]], ...]:
        """Each working with its title."""
        found = (
            ("Stem height against what it came in with", self.stem),
            ("Sunk since it came in", self.sinking.sunk if self.sinking else None),
            ("How the stem should stand for it", self.sinking.stem if self.sinking else None),
            ("What the tip may still lose", self.tip),
            ("Shim to the book height", self.shim),
            ("Spring with its shims", self.spring),
            ("Contact as wanted", self.wanted if self.contact else None),
        )
        return tuple((title, one.working) for title, one in found if one is not None)


def valve_row(
    rows: PortRows,
    books: Readings | None,
    wanted: ValveContact | None,
    rules: ShopRules,
    unit: str,
) -> ValveRow:
    """Work one position; what was not read is left out."""
    read = _Read(rows.valves)
    state = rows.valve_fate.state if rows.valve_fate else None
    stem = _stem(rows, unit)
    ground = read.one(Q.TIP_GROUND)
    length, least = read.one(Q.VALVE_LENGTH), of_the_book(books, Q.VALVE_LENGTH, rows.port.kind)
    tip = None
    if ground is not None or stem is not None:
        tip = tip_left(
            most=rules.length("tip_grind_limit"),
            ground=ground or NOTHING,
            length=length,
            least=least,
            unit=unit,
        )
    measured, shims = read.one(Q.SPRING_HEIGHT), read.one(Q.SPRING_SHIM)
    book = of_the_book(books, Q.SPRING_HEIGHT, rows.port.kind)
    shim = spring = None
    if measured is not None and book is not None:
        shim = spring_shim(measured=measured, book=book, unit=unit)
        if shims is not None:
            spring = spring_off(measured=measured, shims=shims, book=book, unit=unit)
    sank = sinking(rows, unit)
    moved = (*([sunk_words(sank, unit)] if sank else []), *_stem_words(stem, unit))
    follows = (
        *([f"tip: {tip.left.shown(unit)} may still come off"] if tip and tip.left.nm > 0 else []),
        *_spring_words(shim, spring, unit),
    )
    asks = _once(
        *_state_asks(rows, state),
        *_valve_asks(read, rows.port.kind, rules, unit),
        *_length_asks(length, least, stem_now(rows), unit),
        *contact_asks(rows),
        *sunk_asks(rows, sank, rules, unit),
        *_tip_asks(rows, stem, tip, unit),
        *_spring_asks(shims, shim, spring, rules, unit),
    )
    return ValveRow(
        label=rows.label,
        state=state,
        stem=stem,
        tip=tip,
        shim=shim,
        spring=spring,
        sinking=sank,
        wanted=wanted,
        moved=moved,
        follows=follows,
        asks=asks,
        contact=contact_words(rows, wanted, unit),
    )


def _once(*words: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(words))


def is_missing(rows: PortRows) -> bool:
    """Whether its valve was said to be missing."""
    return rows.valve_fate is not None and rows.valve_fate.state is ValveState.MISSING


def of_the_book(books: Readings | None, quantity: Quantity, kind: Kind) -> Length | None:
    """The book's figure for a kind of valve on this head, where it was typed."""
    if books is None:
        return None
    kept = books.at(quantity, kind.screen)
    return kept.value if kept else None


class _Read:
    """Readings that may not be there."""

    def __init__(self, readings: Readings | None) -> None:
        self._readings = readings

    def one(self, quantity: Quantity) -> Length | None:
        return self._readings.one(quantity) if self._readings else None


def _stem(rows: PortRows, unit: str) -> StemHeight | None:
    before = rows.stems.one(Q.STEM_HEIGHT) if rows.stems else None
    after = rows.finish.one(Q.STEM_AFTER) if rows.finish else None
    if before is None or after is None:
        return None
    return stem_height(measured=after, book=before, unit=unit)


def _stem_words(stem: StemHeight | None, unit: str) -> list[str]:
    if stem is None:
        return []
    before, after = stem.working[2].value, stem.working[0].value
    moved = stem.tip_grind
    if not moved:
        return [f"stem {before}, as it came in"]
    way = "higher" if moved.nm > 0 else "lower"
    return [f"stem {before} → {after}, {abs_shown(moved, unit)} {way}"]


def _spring_words(shim: SpringShim | None, spring: SpringOff | None, unit: str) -> list[str]:
    if shim is None:
        return []
    wanted = (
        f"shim to the book: {shim.shim.shown(unit)}"
        if shim.shim.nm > 0
        else f"no shim: {abs_shown(shim.shim, unit)} under the book"
        if shim.shim
        else "no shim: at the book"
    )
    if spring is None:
        return [wanted]
    if not spring.off:
        return [wanted, "with its shims at the book"]
    way = "over" if spring.off.nm > 0 else "under"
    return [wanted, f"with its shims {abs_shown(spring.off, unit)} {way} the book"]


def _state_asks(rows: PortRows, state: ValveState | None) -> list[str]:
    if state is ValveState.MISSING:
        return ["valve missing"]
    after_it = rows.valve_fate.at if rows.valve_fate else None
    read_at = rows.finish.at(Q.STEM_AFTER, "1") if rows.finish else None
    is_changed = state in (ValveState.NEW, ValveState.REFACED)
    if is_changed and read_at and after_it and read_at.taken_at < after_it:
        return [STEM_AGAIN]
    return []


def _valve_asks(read: _Read, kind: Kind, rules: ShopRules, unit: str) -> list[str]:
    found = []
    margin, least = read.one(Q.VALVE_MARGIN), rules.length(f"valve_margin_{kind.screen}")
    if margin is not None and margin < least:
        found.append(f"margin under {least.shown(unit)}")
    run_out, most = read.one(Q.FACE_RUN_OUT), rules.length("face_run_out_limit")
    if run_out is not None and run_out > most:
        found.append(f"face run-out over {most.shown(unit)}")
    clear, edge = read.one(Q.CONTACT_FROM_EDGE), rules.length("contact_clear")
    if clear is not None and clear < edge:
        found.append(f"contact nearer the valve's edge than {edge.shown(unit)}")
    return found


def _length_asks(
    length: Length | None, least: Length | None, stem: Length | None, unit: str
) -> list[str]:
    found = []
    if length is not None and stem is not None and stem >= length:
        found.append("stem stands taller than its valve is long: read both again")
    if length is not None and least is not None and length < least:
        found.append(f"valve {(least - length).shown(unit)} under its least length")
    return found


def _tip_asks(rows: PortRows, stem: StemHeight | None, tip: TipLeft | None, unit: str) -> list[str]:
    if tip is None:
        return []
    if tip.left.nm < 0:
        return [f"{abs_shown(tip.left, unit)} more is off the tip than may come off"]
    if stem is None or stem.tip_grind.nm <= 0:
        return []
    ground = rows.valves.at(Q.TIP_GROUND, "1") if rows.valves else None
    after = rows.finish.at(Q.STEM_AFTER, "1") if rows.finish else None
    if ground and ground.value and after and after.taken_at < ground.taken_at:
        return [STEM_AGAIN]
    if stem.tip_grind > tip.left:
        return [
            f"stands {abs_shown(stem.tip_grind, unit)} higher, and the tip may lose "
            f"{tip.left.shown(unit) if tip.left else 'no more'}"
        ]
    return []


def _spring_asks(
    shims: Length | None,
    shim: SpringShim | None,
    spring: SpringOff | None,
    rules: ShopRules,
    unit: str,
) -> list[str]:
    most, within = rules.length("shim_stack_limit"), rules.length("spring_within")
    found = []
    if shims is not None and shims > most:
        found.append(f"shims over {most.shown(unit)}")
    if shims is None and shim is not None and shim.shim > most:
        found.append(f"would need more shims than {most.shown(unit)}")
    off = spring.off if spring else shim.shim if shim and shim.shim.nm < 0 else NOTHING
    if abs(off.nm) > within.nm:
        found.append(f"spring off its book by more than {within.shown(unit)}")
    return found


def abs_shown(length: Length, unit: str) -> str:
    """A difference without its sign: the words beside it say which way."""
    return Length(abs(length.nm)).shown(unit)
