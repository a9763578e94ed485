"""The valve layout of a head: its positions, named, and kept when the layout changes later.

Nothing is deleted. A position that a new layout does not have is void; it gives up its place and,
when something is on record for it, its name, so that a later position of that name starts clean.
"""

from __future__ import annotations

from collections.abc import Sequence

from sqlmodel import Session, col, select

from app.models.head import Head, NotDone, Port
from app.models.inspection import GuideWork, Inspection
from app.models.port_pass import Cut, Finish, Hold, PortPass
from app.models.reading import ReadingSet
from app.services.write import Refused, Write
from app.workflow.layout import Position
from app.workflow.words import Stage, Work, listed

DROPPED = "′"


def set_layout(
    tx: Write,
    head: Head,
    positions: Sequence[Position],
    *,
    order: str,
    valves: int,
    cylinders: str,
    confirmed: bool,
) -> bool:
    """Give a head its positions; whether anything changed.

    Free while nothing is on record for any position. Afterwards the names may be mended; what was
    read for a position that would go or lie elsewhere is asked about once; nothing moves once
    metal is off.
    """
    before = list(
        tx.session.exec(select(Port).where(Port.head_id == head.id).order_by(col(Port.place))).all()
    )
    live = [port for port in before if not port.is_void]
    head.layout, head.valves_per_cylinder, head.cylinders = order, valves, cylinders
    tx.session.add(head)
    if [_mark_of_port(port) for port in live] == [_mark(position) for position in positions]:
        return False
    with_records = _on_record(tx.session, live)
    matched = _matched(before, live, positions, with_records)
    places = {each.label: (each.place, each.row) for each in positions}
    _ask(tx.session, live, matched, places, with_records, confirmed=confirmed)
    _lay(tx, head, before, positions, matched, with_records)
    return True


def _mark(position: Position) -> tuple[int, str, int]:
    return position.place, position.label, position.row


def _mark_of_port(port: Port) -> tuple[int, str, int]:
    return port.place, port.label, port.row


def _matched(
    before: Sequence[Port],
    live: Sequence[Port],
    positions: Sequence[Position],
    with_records: set[int],
) -> dict[str, Port]:
    """Which port each new label stands for: by place when only the numbers change, else by name."""
    if [(port.kind, port.row) for port in live] == [(each.kind, each.row) for each in positions]:
        return {each.label: port for each, port in zip(positions, live, strict=True)}
    labels = {each.label for each in positions}
    usable = [port for port in before if not port.is_void or port.id not in with_records]
    return {port.label: port for port in usable if port.label in labels}


def _ask(
    session: Session,
    live: Sequence[Port],
    matched: dict[str, Port],
    places: dict[str, tuple[int, int]],
    with_records: set[int],
    *,
    confirmed: bool,
) -> None:
    kept = {port.id: label for label, port in matched.items()}
    cut = _cut(session, live)
    if cut:
        raise Refused(
            f"Metal is off at {listed([port.label for port in cut])}: the layout stays as it is. "
            "Nothing was changed.",
            "layout",
        )
    gone = [port.label for port in live if port.id in with_records and port.id not in kept]
    elsewhere = [
        port.label
        for port in live
        if port.id in with_records
        and kept.get(port.id) == port.label
        and places[port.label] != (port.place, port.row)
    ]
    if confirmed or not (gone or elsewhere):
        return
    told = []
    if gone:
        told.append(f"what was read at {listed(gone)} would no longer count")
    if elsewhere:
        told.append(f"what was read at {listed(elsewhere)} stays under that name, in another place")
    raise Refused(f"Readings were taken with the old layout: {'; '.join(told)}.", "confirm_layout")


def _lay(
    tx: Write,
    head: Head,
    before: Sequence[Port],
    positions: Sequence[Position],
    matched: dict[str, Port],
    with_records: set[int],
) -> None:
    # Two steps: places and names are unique, also for the moment in between.
    staying = {port.id for port in matched.values()}
    names = {port.label for port in before}
    for port in before:
        port.place = -port.id
        if port.id in staying:
            port.label = f"#{port.id}"
        elif not port.is_void:
            port.is_void = True
            if port.id in with_records:
                port.label = _former(port.label, names)
        tx.session.add(port)
    tx.session.flush()
    for position in positions:
        port = matched.get(position.label) or Port(
            head_id=head.id,
            place=0,
            row=0,
            label="",
            cylinder="",
            kind=position.kind,
            nth=0,
            work=Work.UNDECIDED,
            stage=Stage.INTAKE,
        )
        port.is_void = False
        port.place, port.row, port.label = position.place, position.row, position.label
        port.cylinder, port.kind, port.nth = position.cylinder, position.kind, position.nth
        tx.session.add(port)
    tx.session.flush()


def _former(label: str, names: set[str]) -> str:
    former = label + DROPPED
    while former in names:
        former += DROPPED
    names.add(former)
    return former[:12]


def _on_record(session: Session, ports: Sequence[Port]) -> set[int]:
    """Positions that something was read, decided or cut at."""
    ids = [port.id for port in ports]
    found: set[int] = set()
    for column in (
        col(ReadingSet.port_id),
        col(GuideWork.port_id),
        col(Inspection.port_id),
        col(NotDone.port_id),
        col(PortPass.port_id),
        col(Hold.port_id),
        col(Finish.port_id),
    ):
        rows = session.exec(select(column).where(column.in_(ids)).distinct())
        found.update(port_id for port_id in rows if port_id is not None)
    return found


def _cut(session: Session, ports: Sequence[Port]) -> list[Port]:
    """Positions with metal off."""
    found = set(
        session.exec(
            select(PortPass.port_id)
            .join(Cut, col(Cut.port_pass_id) == col(PortPass.id))
            .where(col(PortPass.port_id).in_([port.id for port in ports]))
        )
    )
    return [port for port in ports if port.id in found]


def cut_positions(session: Session, head: Head) -> list[Port]:
    """The positions of a head with metal off."""
    ports = session.exec(
        select(Port)
        .where(Port.head_id == head.id, col(Port.is_void).is_(False))
        .order_by(col(Port.place))
    ).all()
    return _cut(session, ports)
