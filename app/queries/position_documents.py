"""Positions for programs: a page of them, and one with everything that hangs on it."""

from __future__ import annotations

from sqlmodel import Session, col, select

from app.models.head import Head, Port
from app.models.job import Job
from app.models.port_pass import PortFact
from app.queries.job_documents import POSITIONS, Reader
from app.queries.plain_rows import Plain, names_of_people, rows_where
from app.workflow.words import Material, Stage


def positions_after(
    session: Session,
    after: int,
    limit: int,
    *,
    job: str | None,
    stage: Stage | None,
    material: Material | None,
    signed: bool | None,
) -> list[Plain]:
    """Positions behind an id, one more than `limit` when there are more."""
    query = (
        select(Port.id)
        .join(Head, col(Head.id) == col(Port.head_id))
        .where(col(Port.id) > after, col(Port.is_void).is_(False))
        .order_by(col(Port.id))
        .limit(limit + 1)
    )
    if job is not None:
        query = query.where(col(Head.job_id) == _job_id(session, job))
    if stage is not None:
        query = query.where(Port.stage == stage)
    if material is not None:
        query = query.where(Head.material == material)
    if signed is not None:
        is_signed = select(PortFact.id).where(col(PortFact.port_id) == col(Port.id)).exists()
        query = query.where(is_signed if signed else ~is_signed)
    return _with_place(session, list(session.exec(query)))


def position_document(session: Session, port_id: int) -> Plain | None:
    """One position with its passes and readings."""
    found = _with_place(session, [port_id])
    if found:
        Reader(session, names_of_people(session)).grow(found, POSITIONS.branches)
    return found[0] if found else None


def _job_id(session: Session, number: str) -> int:
    return session.exec(select(Job.id).where(Job.number == number)).first() or 0


def _with_place(session: Session, ids: list[int]) -> list[Plain]:
    ports = rows_where(session, "port", "id", ids, {})
    heads = rows_where(session, "head", "id", {port["head_id"] for port in ports}, {})
    of_head = {head["id"]: head for head in heads}
    numbers = dict(
        session.exec(
            select(Job.id, Job.number).where(col(Job.id).in_({head["job_id"] for head in heads}))
        ).all()
    )
    signed: dict[int, list[Plain]] = {port_id: [] for port_id in ids}
    for fact in rows_where(session, "port_fact", "port_id", ids, {}):
        signed[fact["port_id"]].append(fact)
    return [
        {
            **port,
            "job": numbers[of_head[port["head_id"]]["job_id"]],
            "head": of_head[port["head_id"]]["name"],
            "material": of_head[port["head_id"]]["material"],
            "signed": signed[port["id"]],
        }
        for port in ports
    ]
