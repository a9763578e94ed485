"""Heat cases of the shop: a new version of a case, none any more, or the assumed one again.

Nothing that was worked or signed rests on a case: it only feeds what a page explains.
"""

from __future__ import annotations

from typing import Any

from sqlmodel import col, func, select

from app.models.heat_case import HeatCase
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.heat_cases import LEAST_C, MOST_C, HeldCase, Metal, default_case
from app.workflow.words import Kind
from app.worksheets.heat_cases import cases_in_force

CHANGED_MEANWHILE = (
    "This case was changed while the page was open; what you typed is still here. "
    "Look at what holds now, and send it again if yours should replace it."
)
ADDED = "own_"


@use_case
def add_heat_case(
    tx: Write, metal: Metal, kind: Kind, name: str, ring_c: int, head_c: int, source: str
) -> HeatCase:
    """Add a case to those that fits of this metal and kind of valve are looked at in."""
    last = tx.session.exec(select(func.max(col(HeatCase.id)))).one()
    row = _write(tx, f"{ADDED}{(last or 0) + 1}", metal, kind, name, ring_c, head_c, source)
    tx.log("added a heat case", row, **_figures(row))
    return row


@use_case
def set_heat_case(
    tx: Write,
    metal: Metal,
    kind: Kind,
    key: str,
    name: str,
    ring_c: int,
    head_c: int,
    source: str,
    *,
    seen: str | None = None,
) -> HeatCase:
    """Give a case other temperatures; `seen` is the version that the person saw."""
    old = _known(tx, metal, kind, key)
    holds = _holding(tx, metal, kind, key)
    if seen is not None and seen != version_of(holds):
        raise Refused(CHANGED_MEANWHILE)
    if holds is not None and (name, ring_c, head_c, source) == (
        holds.name,
        holds.ring_c,
        holds.head_c,
        holds.source,
    ):
        raise Refused("These are the temperatures and the source that hold already.", "ring_c")
    row = _write(tx, key, metal, kind, name, ring_c, head_c, source)
    tx.log("set a heat case", row, **_figures(row), was=[old.ring_c, old.head_c])
    return row


@use_case
def retire_heat_case(tx: Write, metal: Metal, kind: Kind, key: str, source: str) -> HeatCase:
    """Look at fits without this case from now on."""
    if not source.strip():
        raise Refused("Say why.", "source")
    old = _known(tx, metal, kind, key)
    if _holding(tx, metal, kind, key) is None:
        raise Refused("This case is out of the look already.")
    row = _write(
        tx, key, metal, kind, old.name, old.ring_c, old.head_c, source.strip(), is_retired=True
    )
    tx.log("retired a heat case", row, **_figures(row))
    return row


@use_case
def restore_heat_case(tx: Write, metal: Metal, kind: Kind, key: str, source: str) -> HeatCase:
    """The assumed temperatures of a case again, and why."""
    assumed = default_case(metal, kind, key)
    if assumed is None:
        raise NotFound("The shop added this case itself: there is none to go back to.")
    if not source.strip():
        raise Refused("Say why.", "source")
    holds = _holding(tx, metal, kind, key)
    if holds is not None and (holds.name, holds.ring_c, holds.head_c) == (
        assumed.name,
        assumed.ring_c,
        assumed.head_c,
    ):
        raise Refused("These are the assumed temperatures already.")
    told = f"{source.strip()}; {assumed.source}"
    row = _write(tx, key, metal, kind, assumed.name, assumed.ring_c, assumed.head_c, told)
    tx.log("restored a heat case", row, **_figures(row))
    return row


def version_of(held: HeldCase | None) -> str:
    """What a page carries to say which version it showed."""
    return "none" if held is None else str(held.row_id or "assumed")


def _holding(tx: Write, metal: Metal, kind: Kind, key: str) -> HeldCase | None:
    held = cases_in_force(tx.session)[metal, kind]
    return next((one for one in held if one.key == key), None)


def _known(tx: Write, metal: Metal, kind: Kind, key: str) -> HeldCase | HeatCase:
    """The case as it holds, or as it last was; one that never was is not there."""
    row = tx.session.exec(
        select(HeatCase)
        .where(HeatCase.key == key, col(HeatCase.is_iron).is_(metal.is_iron), HeatCase.kind == kind)
        .order_by(col(HeatCase.id).desc())
        .limit(1)
    ).first()
    found = row or default_case(metal, kind, key)
    if found is None:
        raise NotFound("There is no such heat case.")
    return found


def _write(
    tx: Write,
    key: str,
    metal: Metal,
    kind: Kind,
    name: str,
    ring_c: int,
    head_c: int,
    source: str,
    *,
    is_retired: bool = False,
) -> HeatCase:
    if not name.strip():
        raise Refused("What is the case called?", "name")
    if not source.strip():
        raise Refused("Say who says so, or where it was read.", "source")
    for field, degrees in (("ring_c", ring_c), ("head_c", head_c)):
        if not LEAST_C <= degrees <= MOST_C:
            raise Refused(f"must be from {LEAST_C} to {MOST_C}", field)
    return tx.add(
        HeatCase(
            by_id=tx.by_id,
            at=tx.at,
            key=key,
            is_iron=metal.is_iron,
            kind=kind,
            name=name.strip()[:60],
            ring_c=ring_c,
            head_c=head_c,
            source=source.strip()[:200],
            is_retired=is_retired,
        )
    )


def _figures(row: HeatCase) -> dict[str, Any]:
    return {
        "key": row.key,
        "is_iron": row.is_iron,
        "kind": row.kind.value,
        "ring_c": row.ring_c,
        "head_c": row.head_c,
    }
