"""The texts of jobs that are searched, and the jobs that a search finds."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from sqlalchemy import Select, bindparam, column, table, text
from sqlmodel import Session, col, select

from app.models.crib import Cutter
from app.models.job import Job
from app.models.job_words import INDEX, JobWords
from app.models.person import Person
from app.workflow.job_words import Source, Wanted, mark, wanted

_OF_HEADS = "FROM head h JOIN job j ON j.id = h.job_id WHERE j.id IN :ids"
_OF_PASSES = (
    "JOIN port_pass x ON x.id = t.port_pass_id JOIN port p ON p.id = x.port_id "
    "JOIN head h ON h.id = p.head_id WHERE h.job_id IN :ids"
)
_OF_CUSTOMERS = "FROM job j JOIN customer c ON c.id = j.customer_id WHERE j.id IN :ids"
_SETS = (
    "SELECT s.job_id AS job_id, s.id AS id FROM ring_set s WHERE s.job_id IN :ids "
    "UNION SELECT h.job_id, x.ring_set_id FROM port_pass x JOIN port p ON p.id = x.port_id "
    "JOIN head h ON h.id = p.head_id WHERE h.job_id IN :ids "
    f"UNION SELECT h.job_id, r.ring_set_id FROM ring_in t JOIN ring r ON r.id = t.ring_id "
    f"{_OF_PASSES}"
)


def _own(column: str, source: Source) -> str:
    return f"SELECT j.id, '{source}', j.{column} FROM job j WHERE j.id IN :ids"


def _of_rings(column: str, source: Source) -> str:
    return f"SELECT a.job_id, '{source}', s.{column} FROM sets a JOIN ring_set s ON s.id = a.id"


_TEXTS = text(
    f"WITH sets AS ({_SETS}) "
    + " UNION ALL ".join(
        [
            _own("number", Source.NUMBER),
            f"SELECT j.id, '{Source.CUSTOMER}', c.name {_OF_CUSTOMERS}",
            f"SELECT j.id, '{Source.PHONE}', c.phone {_OF_CUSTOMERS}",
            f"SELECT j.id, '{Source.PHONE}', c.second_phone {_OF_CUSTOMERS}",
            f"SELECT job_id, '{Source.AGREED}', name FROM consent WHERE job_id IN :ids",
            _own("collected_by", Source.COLLECTED),
            _own("wanted", Source.WANTED),
            _own("comeback_cause", Source.COMEBACK),
            _own("comeback_found", Source.COMEBACK),
            _own("waiting_for", Source.WAITING),
            _own("ended_note", Source.ENDED),
            f"SELECT h.job_id, '{Source.CASTING}', h.casting {_OF_HEADS}",
            f"SELECT h.job_id, '{Source.SERIAL}', h.serial {_OF_HEADS}",
            f"SELECT h.job_id, '{Source.ENGINE}', h.engine {_OF_HEADS}",
            f"SELECT h.job_id, '{Source.MATERIAL}', h.material {_OF_HEADS} "
            "AND h.material IS NOT NULL",
            f"SELECT job_id, '{Source.NOTE}', text FROM note WHERE job_id IN :ids",
            _of_rings("lot", Source.LOT),
            _of_rings("part", Source.PART),
            _of_rings("supplier", Source.SUPPLIER),
            _of_rings("name", Source.RINGS),
            f"SELECT job_id, '{Source.CUTTER}', CAST(cutter_id AS TEXT) FROM setting "
            "WHERE job_id IN :ids",
            f"SELECT j.id, '{Source.PERSON}', CAST(j.taken_in_by_id AS TEXT) FROM job j "
            "WHERE j.id IN :ids",
            f"SELECT job_id, '{Source.PERSON}', CAST(by_id AS TEXT) FROM note WHERE job_id IN :ids",
            f"SELECT job_id, '{Source.PERSON}', CAST(by_id AS TEXT) FROM signature "
            "WHERE job_id IN :ids",
            f"SELECT h.job_id, '{Source.PERSON}', CAST(t.by_id AS TEXT) FROM cut t {_OF_PASSES}",
            f"SELECT h.job_id, '{Source.PERSON}', CAST(t.by_id AS TEXT) FROM ring_in t "
            f"{_OF_PASSES}",
        ]
    )
).bindparams(bindparam("ids", expanding=True))

_INDEX = table(INDEX, column("rowid"))

Texts = dict[int, list[tuple[Source, str]]]


def texts_of(session: Session, job_ids: Collection[int]) -> Texts:
    """Everything that jobs are found by, with where it stands, in one statement."""
    found: Texts = {job_id: [] for job_id in job_ids}
    for job_id, source, said in session.execute(_TEXTS, {"ids": list(job_ids)}):
        if said and (Source(source), said) not in found[job_id]:
            found[job_id].append((Source(source), said))
    return found


def names_now(session: Session) -> dict[str, list[str]]:
    """What cutters and people are called now, by the mark that stands for them."""
    cutters = session.exec(select(Cutter.id, Cutter.name)).all()
    people = session.exec(select(Person.id, Person.name)).all()
    return {mark(Source.CUTTER, str(each)): [name] for each, name in cutters} | {
        mark(Source.PERSON, str(each)): [name] for each, name in people
    }


def look_for(session: Session, typed: str, materials: Collection[str] = ()) -> Wanted:
    """What was typed, with the cutters and people of that name."""
    return wanted(
        typed,
        names_now(session) if typed else {},
        [mark(Source.MATERIAL, each) for each in materials],
    )


def kept_to(session: Session, query: Select[Any], what: Wanted) -> tuple[Select[Any], Any]:
    """A query over jobs, kept to those that fit; and the id to order it by.

    SQLite's index gives its rows in the order of their ids, either way: nothing is sorted then.
    """
    if what.is_empty:
        return query, col(Job.id)
    if session.get_bind().dialect.name == "sqlite":
        fits = text(f"{INDEX} MATCH :wanted").bindparams(wanted=what.for_sqlite())
        found = query.join(_INDEX, _INDEX.c.rowid == col(Job.id)).where(fits)
        return found, _INDEX.c.rowid
    fits = text(
        "array_to_tsvector(string_to_array(job_words.words, ' ')) @@ CAST(:wanted AS tsquery)"
    ).bindparams(wanted=what.for_postgresql())
    return query.join(JobWords, col(JobWords.job_id) == col(Job.id)).where(fits), col(Job.id)
