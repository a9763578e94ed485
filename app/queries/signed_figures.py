"""Figures over signed positions: right the first time, interference against aim, label by lot."""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import BigInteger, Integer, cast, type_coerce
from sqlmodel import Session, col, func, select

from app.calc.capability import capability, share_between
from app.calc.errors import CalculationError
from app.calc.units import Length
from app.models.port_pass import PortFact
from app.queries.figure_views import Column, Figure, Histogram, Holds, Row, Span, Spans
from app.queries.finished_months import FinishedMonths
from app.workflow.periods import FEWEST_CASES, Period
from app.workflow.words import Material

BIN = Length.of(".0001")
# Added before dividing, so that both databases round the same way.
_SHIFT = 100_000
MOST_DRAWN = 24


def _nm(column: Any) -> Any:
    return type_coerce(column, BigInteger)


def _signed(query: Any, begins: datetime, ends: datetime) -> Any:
    return query.where(col(PortFact.signed_at) >= begins, col(PortFact.signed_at) < ends)


def first_time(
    session: Session, period: Period, zone: ZoneInfo, at: datetime, kept: FinishedMonths
) -> Figure:
    """The share of signed positions whose first bore stood."""

    def count(begins: datetime, ends: datetime) -> dict[Material, tuple[int, int]]:
        right: Any = cast(col(PortFact.right_first_time), Integer)
        query: Any = select(PortFact.material, func.count(), func.sum(right))
        rows = session.exec(_signed(query, begins, ends).group_by(col(PortFact.material)))
        return {material: (of, int(good or 0)) for material, of, good in rows}

    months = kept.over("first time", period, zone, at, count)
    of = sum(n for found in months.values() for n, _ in found.values())
    right = sum(n for found in months.values() for _, n in found.values())
    lines, rows = [], []
    for month, found in months.items():
        n, good = (sum(each) for each in zip(*found.values(), strict=True)) if found else (0, 0)
        enough = n >= FEWEST_CASES
        low, high = share_between(count=good, of=n) if n >= FEWEST_CASES else (None, None)
        lines.append(
            Span(
                month.words,
                f"{good} of {n}",
                good / n if enough else None,
                low if enough else None,
                high if enough else None,
            )
        )
        shares = (good / n, low, high) if enough else (None, None, None)
        rows.append(Row((month.words, n, good, *shares)))
    said = []
    if of:
        low, high = share_between(count=right, of=of)
        said = [f"{right} of {of} positions were right the first time."]
        if of >= FEWEST_CASES:
            said = [
                f"{right} of {of} positions were right the first time: {right / of:.1%}.",
                f"By so many cases the shop's true share likely lies between {low:.1%} and "
                f"{high:.1%}.",
            ]
    return Figure(
        key="first-time",
        title="Right the first time",
        definition="A signed position counts as right when its first bore stood: one pass, and no "
        "hold. A hold that was left by reading again was a slip in a reading and does not count "
        "against it; neither does a first pass that went under size on purpose.",
        count=of,
        cases="signed positions with a seat ring",
        said=tuple(said),
        pictures=(Spans("Share right the first time, month by month", "share", tuple(lines)),)
        if any(line.value is not None for line in lines)
        else (),
        columns=(
            Column("Month"),
            Column("Signed", Holds.COUNT),
            Column("Right", Holds.COUNT),
            Column("Share", Holds.SHARE),
            Column("Likely from", Holds.SHARE),
            Column("Likely to", Holds.SHARE),
        ),
        rows=tuple(rows),
        few=of < FEWEST_CASES,
    )


def interference_achieved(
    session: Session, period: Period, zone: ZoneInfo, at: datetime, kept: FinishedMonths
) -> Figure:
    """How the interferences lie around what they were aimed at, window by window."""

    def count(begins: datetime, ends: datetime) -> list[tuple[Any, ...]]:
        off = _nm(col(PortFact.interference)) - _nm(col(PortFact.aim))
        down = _nm(col(PortFact.least)) - _nm(col(PortFact.aim))
        up = _nm(col(PortFact.most)) - _nm(col(PortFact.aim))
        step = (off + (BIN.nm * _SHIFT + BIN.nm // 2)) // BIN.nm
        groups: tuple[Any, ...] = (col(PortFact.material), down, up, step)
        columns = (*groups, func.count(), func.sum(off), func.sum(off * off))
        query: Any = select(*columns)
        rows = session.exec(_signed(query, begins, ends).group_by(*groups))
        return [(row[0], *(int(each) for each in row[1:])) for row in rows]

    windows: dict[tuple[Material, int, int], list[tuple[int, int, int, int]]] = defaultdict(list)
    for found in kept.over("interference", period, zone, at, count).values():
        for material, down, up, *rest in found:
            step, n, total, squares = rest
            windows[material, down, up].append((step - _SHIFT, n, total, squares))
    pictures, rows, said = [], [], []
    every = 0
    ordered = sorted(windows.items(), key=lambda each: -sum(one[1] for one in each[1]))
    for (material, down, up), found in ordered:
        n = sum(one[1] for one in found)
        every += n
        least, most = Length(down), Length(up)
        cells: list[Any] = [material.screen, least, most, n]
        try:
            can = capability(
                count=n,
                total_nm=sum(one[2] for one in found),
                total_nm2=sum(one[3] for one in found),
                least=least,
                most=most,
            )
        except CalculationError:
            can = None
        cells += [can.mean, can.deviation] if can else [None, None]
        enough = can is not None and n >= FEWEST_CASES
        cells += [can.index, can.low, can.high] if can and enough else [None] * 3
        rows.append(Row(tuple(cells)))
        if can is None or not enough:
            continue
        bins: Counter[int] = Counter()
        for step, times, *_ in found:
            bins[step] += times
        pictures.append(
            Histogram(
                f"{material.screen}: {n} interferences less their aim",
                tuple((BIN * step, bins[step]) for step in range(min(bins), max(bins) + 1)),
                BIN,
                least,
                most,
            )
        )
        said.append(
            f"{material.screen.capitalize()}, {n} positions: capability index {can.index:.2f}, "
            f"likely between {can.low:.2f} and {can.high:.2f}."
        )
    return Figure(
        key="interference",
        title="Interference against aim",
        definition="Interference proved, less the aim of its rule, of every signed position; "
        "positions with the same head material and the same window around the aim stand together. "
        "The capability index is the room from the mean to the nearer limit over three standard "
        "deviations, of the whole period's scatter; by 1 the limits lie three deviations away. It "
        "holds for scatter that is about normal. Deviations that were signed are among the cases.",
        count=every,
        cases="signed positions with a seat ring",
        said=tuple(said),
        pictures=tuple(pictures[:6]),
        columns=(
            Column("Head material"),
            Column("Least − aim", Holds.LENGTH, 4),
            Column("Most − aim", Holds.LENGTH, 4),
            Column("Positions", Holds.COUNT),
            Column("Mean − aim", Holds.LENGTH, 5),
            Column("Scatter, s", Holds.LENGTH, 5),
            Column("Index", Holds.NUMBER, 2),
            Column("Likely from", Holds.NUMBER, 2),
            Column("Likely to", Holds.NUMBER, 2),
        ),
        rows=tuple(rows),
        few=not pictures,
    )


def rings_and_labels(
    session: Session, period: Period, zone: ZoneInfo, at: datetime, kept: FinishedMonths
) -> Figure:
    """Measured ring OD minus what its box says, by supplier and lot."""

    def count(begins: datetime, ends: datetime) -> list[tuple[Any, ...]]:
        off = _nm(col(PortFact.ring_od)) - _nm(col(PortFact.label_od))
        groups: tuple[Any, ...] = (
            func.coalesce(PortFact.supplier, ""),
            func.coalesce(PortFact.lot, ""),
        )
        columns = (*groups, func.count(), func.sum(off), func.min(off), func.max(off))
        query: Any = select(*columns).where(col(PortFact.label_od).is_not(None))
        rows = session.exec(_signed(query, begins, ends).group_by(*groups))
        return [(row[0], row[1], *(int(each) for each in row[2:])) for row in rows]

    lots: dict[tuple[str, str], list[tuple[int, ...]]] = defaultdict(list)
    for found in kept.over("labels", period, zone, at, count).values():
        for supplier, lot, *rest in found:
            lots[supplier, lot].append(tuple(rest))
    lines, rows, every = [], [], 0
    for (supplier, lot), parts in sorted(
        lots.items(), key=lambda each: (each[0][0], -sum(one[0] for one in each[1]), each[0][1])
    ):
        n, total = sum(one[0] for one in parts), sum(one[1] for one in parts)
        low, high = min(one[2] for one in parts), max(one[3] for one in parts)
        every += n
        mean = Length(round(total / n))
        name = f"{supplier or 'supplier not said'}, {f'lot {lot}' if lot else 'no lot'}"
        rows.append(
            Row((supplier or "not said", lot or "not said", n, mean, Length(low), Length(high)))
        )
        lines.append(Span(name, f"{n} rings" if n != 1 else "1 ring", mean.nm, low, high))
    drawn = sorted(lines, key=lambda line: -abs(line.value or 0))[:MOST_DRAWN]
    return Figure(
        key="labels",
        title="Seat rings against their labels",
        definition="Outside diameter as measured, less the size on the box, of each ring that was "
        "signed for; supplier and lot as they stood then. Each line reaches from the least to the "
        "most, with the mean marked; the largest differences stand first. Interference that a "
        "maker builds in shows here as a mean over the label.",
        count=every,
        cases="rings signed for whose box names a size",
        said=(),
        pictures=(Spans("Ring OD less label, by supplier and lot", "length", tuple(drawn)),)
        if drawn
        else (),
        columns=(
            Column("Supplier"),
            Column("Lot"),
            Column("Rings", Holds.COUNT),
            Column("Mean", Holds.LENGTH, 5),
            Column("Least", Holds.LENGTH, 5),
            Column("Most", Holds.LENGTH, 5),
        ),
        rows=tuple(rows),
        few=False,
    )
