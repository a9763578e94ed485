"""Where the positions of a head lie: from a typed valve order to named positions."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from app.workflow.kinds import Said
from app.workflow.words import Kind

FEWEST_VALVES, MOST_VALVES = 2, 5
MOST_CYLINDERS = 12
MOST_ROWS = 2
# Offered where a head is described; any other text may be typed.
NUMBERED_FROM = ("timing end", "flywheel end")

_SEPARATORS = re.compile(r"[\s,;.\-_|]+")


class LayoutError(ValueError):
    """A valve order that cannot be laid out; the message says what does not fit."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field
        self.message = message


@dataclass(frozen=True, slots=True)
class Position:
    """One valve position: ``3E``, or ``3E1`` and ``3E2`` where a cylinder has two of a kind.

    `place` counts through the head from the stated end, row after row, from 1; `across` is where
    it lies along the head, from 0 at the stated end to 1, so that two rows of different number
    still stand over each other.
    """

    place: int
    row: int
    place_in_row: int
    across: Fraction
    cylinder: str
    kind: Kind
    nth: int
    label: str

    @property
    def name(self) -> str:
        """``cylinder 3 exhaust``, ``cylinder 3 exhaust 2``."""
        name = f"cylinder {self.cylinder} {self.kind.screen}"
        return f"{name} {self.nth}" if self.label[-1].isdigit() else name

    @property
    def title(self) -> str:
        """The label with the long name: ``3E · cylinder 3 exhaust``."""
        return f"{self.label} · {self.name}"


class Side(Said):
    """Where a neighbour lies, as the map is seen."""

    LEFT = "left", "on its left"
    RIGHT = "right", "on its right"
    ABOVE = "above", "above it"
    BELOW = "below", "below it"


# Clockwise from the numbering end at the left; a quarter turn puts it on top.
_CLOCKWISE = (Side.LEFT, Side.ABOVE, Side.RIGHT, Side.BELOW)


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A position beside another, and on which side."""

    position: Position
    side: Side


@dataclass(frozen=True, slots=True)
class CommonLayout:
    """A valve order offered to be touched instead of typed."""

    order: str
    screen: str


def lay_out(
    order: str, valves_per_cylinder: int, cylinders: str | Sequence[int] = ""
) -> tuple[Position, ...]:
    """The positions of a head, in the order they lie from the stated end.

    `order` is one letter a valve (``EIIEEIIE``), either case, separators allowed, the two rows of
    a two-row head parted by ``/`` or a new line. `cylinders` are the numbers as they lie
    (``1-3-5-7``); left out, they count 1, 2, 3 … from the stated end.

    >>> [position.label for position in lay_out("EIIE", 2, "1-3")]
    ['1E', '1I', '3I', '3E']
    >>> [position.label for position in lay_out("II II / EE EE", 4)]
    ['1I1', '1I2', '2I1', '2I2', '1E1', '1E2', '2E1', '2E2']
    """
    rows = read_order(order)
    count = _cylinder_count(rows, valves_per_cylinder)
    numbers = read_cylinders(cylinders)
    if not numbers:
        numbers = tuple(str(number) for number in range(1, count + 1))
    if len(numbers) != count:
        raise LayoutError(
            "cylinders",
            f"{len(numbers)} cylinder {'number' if len(numbers) == 1 else 'numbers'} typed, "
            f"but this valve order makes {count} at {valves_per_cylinder} valves each",
        )
    kinds = _kinds_of_cylinders(rows, count)
    _check_alike(kinds, numbers)
    return tuple(_positions(rows, count, numbers, kinds[0]))


def read_order(order: str) -> tuple[tuple[Kind, ...], ...]:
    """The rows of a typed valve order."""
    texts = [_SEPARATORS.sub("", text) for text in re.split(r"[/\n]", order.strip())]
    if not any(texts):
        raise LayoutError("layout", "the valve order is empty; type E and I as the valves lie")
    if len(texts) > MOST_ROWS:
        raise LayoutError("layout", f"{len(texts)} rows typed; a head has one row or two")
    if not all(texts):
        raise LayoutError("layout", "one of the two rows is empty")
    unknown = sorted({letter for text in texts for letter in text} - set("EIei"))
    if unknown:
        raise LayoutError(
            "layout", f"“{_echo(unknown[0])}” is not a valve; use E for exhaust and I for intake"
        )
    return tuple(tuple(Kind(letter.upper()) for letter in text) for text in texts)


def read_cylinders(cylinders: str | Sequence[int]) -> tuple[str, ...]:
    """Typed cylinder numbers, ``1-3-5-7``, as they lie; empty when none were typed."""
    if not isinstance(cylinders, str):
        words = [str(number) for number in cylinders]
    else:
        words = [word for word in _SEPARATORS.split(cylinders.strip()) if word]
    for word in words:
        if not (word.isascii() and word.isdigit() and len(word) <= 2 and int(word) > 0):
            raise LayoutError(
                "cylinders", f"“{_echo(word)}” is not a cylinder number; type them as 1-3-5-7"
            )
    numbers = [str(int(word)) for word in words]
    for number, times in Counter(numbers).items():
        if times > 1:
            raise LayoutError("cylinders", f"cylinder {number} is typed {times} times")
    return tuple(numbers)


def other_bank(cylinders: str, count: int) -> str:
    """The numbers that the other head of a pair usually has; proposed, never assumed.

    >>> other_bank("1-3-5-7", 4), other_bank("2-4-6", 3), other_bank("", 4), other_bank("3-4", 2)
    ('2-4-6-8', '1-3-5', '5-6-7-8', '1-2')
    """
    numbers = [int(number) for number in read_cylinders(cylinders)] or list(range(1, count + 1))
    if all(number % 2 for number in numbers):
        others = [number + 1 for number in numbers]
    elif not any(number % 2 for number in numbers):
        others = [number - 1 for number in numbers]
    elif sorted(numbers) == list(range(1, count + 1)):
        others = [number + count for number in numbers]
    elif sorted(numbers) == list(range(count + 1, 2 * count + 1)):
        others = [number - count for number in numbers]
    else:
        others = []
    return "-".join(str(number) for number in others)


def written(order: str) -> str:
    """A valve order in the one way it is kept: ``EIIEEIIE``, ``IIII/EEEE``."""
    return "/".join("".join(row) for row in read_order(order))


def neighbours(
    positions: Iterable[Position], position: Position, turned: int = 0
) -> tuple[Neighbour, ...]:
    """What lies beside a position: left, right, then the nearest of the other row.

    `turned` is how the head lies on the machine: 0, 90, 180 or 270 degrees clockwise.
    """
    found: list[Neighbour] = []
    everyone = tuple(positions)
    for other in everyone:
        if other.row == position.row:
            step = other.place_in_row - position.place_in_row
            if abs(step) == 1:
                found.append(Neighbour(other, Side.LEFT if step < 0 else Side.RIGHT))
    across = [other for other in everyone if other.row != position.row]
    if across:
        nearest = min(abs(other.across - position.across) for other in across)
        side = Side.ABOVE if across[0].row < position.row else Side.BELOW
        found += [
            Neighbour(other, side)
            for other in across
            if abs(other.across - position.across) == nearest
        ]
    quarters = turned // 90
    found = [Neighbour(each.position, _turned(each.side, quarters)) for each in found]
    order = list(Side)
    return tuple(sorted(found, key=lambda each: (order.index(each.side), each.position.place)))


def _turned(side: Side, quarters: int) -> Side:
    return _CLOCKWISE[(_CLOCKWISE.index(side) + quarters) % len(_CLOCKWISE)]


def common_layouts(cylinders: int, valves_per_cylinder: int) -> tuple[CommonLayout, ...]:
    """Valve orders to choose from, by pattern; the last resort is to type one."""
    if not 1 <= cylinders <= MOST_CYLINDERS:
        raise LayoutError("cylinders", f"a head has 1 to {MOST_CYLINDERS} cylinders")
    _check_valves(valves_per_cylinder)
    if valves_per_cylinder == 2:
        patterns = [
            (_alternating("EI", "IE", cylinders), "in mirrored pairs, exhaust at the end"),
            (_alternating("IE", "EI", cylinders), "in mirrored pairs, intake at the end"),
            ("EI" * cylinders, "alike all along, exhaust first"),
            ("IE" * cylinders, "alike all along, intake first"),
            ("I" * cylinders + "/" + "E" * cylinders, "two rows, intakes and exhausts apart"),
        ]
    elif valves_per_cylinder == 3:
        patterns = [
            ("II" * cylinders + "/" + "E" * cylinders, "two rows, two intakes and one exhaust"),
            ("I" * cylinders + "/" + "EE" * cylinders, "two rows, one intake and two exhausts"),
            ("IEI" * cylinders, "one row, the exhaust between two intakes"),
        ]
    elif valves_per_cylinder == 4:
        patterns = [
            ("II" * cylinders + "/" + "EE" * cylinders, "two rows, intakes and exhausts apart"),
            ("IE" * cylinders + "/" + "IE" * cylinders, "two rows, alike, intake first"),
            ("EI" * cylinders + "/" + "EI" * cylinders, "two rows, alike, exhaust first"),
            ("IE" * cylinders + "/" + "EI" * cylinders, "two rows, crosswise"),
        ]
    else:
        patterns = [
            ("III" * cylinders + "/" + "EE" * cylinders, "two rows, three intakes, two exhausts")
        ]
    kept: dict[str, str] = {}
    for order, screen in patterns:
        kept.setdefault(order, screen)  # one cylinder makes some patterns the same order
    return tuple(CommonLayout(order, screen) for order, screen in kept.items())


def valves_of(order: str, cylinders: str = "", count: int | None = None) -> int | None:
    """Valves a cylinder, where a typed order leaves no doubt of it; `count` cylinders, when known.

    Of several numbers that fit, the one whose common pattern this is.

    >>> valves_of("EIIEEIIE"), valves_of("IEIIEI"), valves_of("EIIEEIIE", "1-3")
    (2, 3, 4)
    >>> valves_of("IIII/EEEE"), valves_of("IIII/EEEE", count=2)
    (None, 4)
    """
    kept = written(order)
    read_cylinders(cylinders)
    fits: dict[int, int] = {}
    for valves in range(FEWEST_VALVES, MOST_VALVES + 1):
        try:
            found = len({each.cylinder for each in lay_out(order, valves, cylinders)})
        except LayoutError:
            continue
        if count is None or found == count:
            fits[valves] = found
    if len(fits) > 1:
        fits = {
            valves: found
            for valves, found in fits.items()
            if any(each.order == kept for each in common_layouts(found, valves))
        }
    return next(iter(fits)) if len(fits) == 1 else None


def _echo(typed: str) -> str:
    # A lone surrogate or a control character would break the page that shows the message.
    return "".join(letter if letter.isprintable() else "?" for letter in typed[:8])


def _alternating(first: str, second: str, cylinders: int) -> str:
    return "".join(first if index % 2 == 0 else second for index in range(cylinders))


def _check_valves(valves_per_cylinder: int) -> None:
    if not FEWEST_VALVES <= valves_per_cylinder <= MOST_VALVES:
        raise LayoutError(
            "valves_per_cylinder", f"a cylinder has {FEWEST_VALVES} to {MOST_VALVES} valves"
        )


def _cylinder_count(rows: Sequence[Sequence[Kind]], valves_per_cylinder: int) -> int:
    _check_valves(valves_per_cylinder)
    total = sum(len(row) for row in rows)
    count, left_over = divmod(total, valves_per_cylinder)
    if left_over or count == 0:
        raise LayoutError(
            "layout",
            f"{total} valves do not share out at {valves_per_cylinder} to a cylinder",
        )
    if count > MOST_CYLINDERS:
        raise LayoutError("layout", f"{count} cylinders; a head has at most {MOST_CYLINDERS}")
    for nth, row in enumerate(rows, 1):
        if len(row) % count:
            raise LayoutError(
                "layout",
                f"row {nth} has {len(row)} valves, which do not share out over {count} cylinders",
            )
    return count


def _kinds_of_cylinders(rows: Sequence[Sequence[Kind]], count: int) -> list[Counter[Kind]]:
    kinds: list[Counter[Kind]] = [Counter() for _ in range(count)]
    for row in rows:
        share = len(row) // count
        for index, kind in enumerate(row):
            kinds[index // share][kind] += 1
    return kinds


def _check_alike(kinds: Sequence[Counter[Kind]], numbers: Sequence[str]) -> None:
    for number, here in zip(numbers, kinds, strict=True):
        for kind in Kind:
            if not here[kind]:
                raise LayoutError(
                    "layout",
                    f"cylinder {number} would have no {kind.screen} valve; is a letter wrong, "
                    "or the number of valves a cylinder?",
                )
        if here != kinds[0]:
            raise LayoutError(
                "layout",
                f"cylinder {number} would have {_told(here)}, but cylinder {numbers[0]} has "
                f"{_told(kinds[0])}",
            )


def _told(kinds: Counter[Kind]) -> str:
    return " and ".join(f"{kinds[kind]} {kind.screen}" for kind in Kind if kinds[kind])


def _positions(
    rows: Sequence[Sequence[Kind]], count: int, numbers: Sequence[str], kinds: Counter[Kind]
) -> Iterable[Position]:
    seen: Counter[tuple[str, Kind]] = Counter()
    place = 0
    for row_number, row in enumerate(rows, 1):
        share = len(row) // count
        for index, kind in enumerate(row):
            place += 1
            cylinder = numbers[index // share]
            seen[cylinder, kind] += 1
            nth = seen[cylinder, kind]
            label = f"{cylinder}{kind.value}"
            yield Position(
                place=place,
                row=row_number,
                place_in_row=index + 1,
                across=Fraction(2 * index + 1, 2 * len(row)),
                cylinder=cylinder,
                kind=kind,
                nth=nth,
                label=f"{label}{nth}" if kinds[kind] > 1 else label,
            )
