"""Rows of a job built through the services, copied with other ids, days and figures.

A job's rows are kept column by column as SQLite stores them; what is the same in every copy is the
same list each time, so that a copy takes about a microsecond a row.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache
from typing import Any

from sqlalchemy import Date, DateTime, Table

from app.calc.trace import canonical, sha256
from app.db import Utc, metadata
from app.workflow.job_words import Source, words_of

Column = list[Any]
TABLES = {table.name: table for table in metadata.sorted_tables}
# What an event's body names by id; readings with their figures.
_NAMED = {"readings": "reading", "ports": "port"}


@dataclass
class Copy:
    """One more job: what of it differs from its pattern."""

    number: str
    year: int
    seq: int
    days: int  # after its pattern
    customer_id: int
    customer: str
    phone: str
    wanted: str
    casting: str
    serial: str
    supplier: str
    lot: str
    label_off: int
    cutter_id: int
    tip_id: int
    off: Sequence[int]  # divisions that each position's bore came out beside its pattern
    comeback_of_id: int | None = None
    comeback_cause: str = ""
    first: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Rows:
    """A pattern's rows of one table: by column what they hold, and whose rows they name."""

    table: Table
    count: int
    base: Mapping[str, Column]
    # By column: the table that it names, and for each row the place of what it names among the
    # pattern's own rows; None where it names what the copy shares, or nothing.
    named: Mapping[str, tuple[str, list[int | None]]]
    # By column: for each row the day after the pattern's first one, and the rest of the moment.
    moments: Mapping[str, list[tuple[int, str] | None]]
    port: list[int | None]  # the place of each row's position, where its bore counts


@dataclass(frozen=True)
class Pattern:
    """Every row of one finished or open job, table by table."""

    number: str
    customer: str
    first_day: int
    material: str
    parts: Mapping[str, Rows]
    words: frozenset[str]  # that every copy has
    division: int
    bodies: Mapping[str, tuple[Any, ...]]  # of events that name the job's own rows

    @property
    def bores(self) -> int:
        """How many positions it has."""
        return self.parts["port"].count if "port" in self.parts else 0

    def without_sheets(self) -> Pattern:
        """The same job with no sheet issued."""
        parts = {name: rows for name, rows in self.parts.items() if name != "sheet"}
        if "event" in parts:
            subjects = [name for name, _, _ in parts["event"].base["subject_id"]]
            kept = [n for n, subject in enumerate(subjects) if subject != "sheet"]
            parts["event"] = _some(parts["event"], kept)
        return replace(self, parts=parts)


def _some(rows: Rows, kept: Sequence[int]) -> Rows:
    return replace(
        rows,
        count=len(kept),
        base={name: [each[n] for n in kept] for name, each in rows.base.items()},
        named={name: (of, [each[n] for n in kept]) for name, (of, each) in rows.named.items()},
        moments={name: [each[n] for n in kept] for name, each in rows.moments.items()},
        port=[rows.port[n] for n in kept],
    )


# Reading a pattern


def read_pattern(
    source: sqlite3.Connection,
    job_id: int,
    texts: Sequence[tuple[Source, str]],
    only: frozenset[str] | None = None,
) -> Pattern:
    """A job's own rows; `only` leaves out tables that a test has no use for."""
    own: dict[str, dict[int, int]] = {"job": {job_id: 0}}
    found: dict[str, tuple[list[str], list[tuple[Any, ...]]]] = {}
    for table in metadata.sorted_tables:
        if table.name in ("job_words", "search_key") or (only and table.name not in only):
            continue
        where = f"id = {job_id}" if table.name == "job" else _whose(table, own)
        if not where:
            continue
        columns = [column.name for column in table.columns]
        names = ", ".join(f'"{name}"' for name in columns)
        rows = source.execute(
            f'SELECT {names} FROM "{table.name}" WHERE {where} ORDER BY id'
        ).fetchall()
        if rows:
            own[table.name] = {row[columns.index("id")]: n for n, row in enumerate(rows)}
            found[table.name] = columns, rows
    columns, [job] = found["job"]
    taken_in = str(job[columns.index("taken_in_at")])
    first_day = date.fromisoformat(taken_in[:10]).toordinal()
    parts: dict[str, Rows] = {}
    for name, (columns, rows) in found.items():
        parts[name] = _rows(TABLES[name], columns, rows, own, first_day, parts)
    return Pattern(
        number=_one(found, "number"),
        customer=next((text for source_, text in texts if source_ is Source.CUSTOMER), ""),
        first_day=first_day,
        material=str(parts["head"].base["material"][0]),
        parts=parts,
        words=frozenset(
            word for kind, text in texts if kind not in _VARIED for word in words_of(kind, text)
        ),
        division=2540 if _one(found, "unit") == "in" else 2000,
        bodies={
            text: pieces
            for text in (parts["event"].base["body"] if "event" in parts else ())
            if (pieces := _pieces(text, own))
        },
    )


def _one(found: Mapping[str, tuple[list[str], list[tuple[Any, ...]]]], column: str) -> str:
    columns, rows = found["job"]
    return str(rows[0][columns.index(column)])


def _whose(table: Table, own: Mapping[str, Mapping[int, int]]) -> str:
    """Rows that name what is the job's own."""
    terms = []
    for key in table.foreign_keys:
        of = key.column.table.name
        if own.get(of) and of != table.name:
            terms.append(f'"{key.parent.name}" IN ({", ".join(map(str, own[of]))})')
    return " OR ".join(terms)


def _rows(
    table: Table,
    columns: Sequence[str],
    rows: Sequence[tuple[Any, ...]],
    own: Mapping[str, Mapping[int, int]],
    first_day: int,
    parts: Mapping[str, Rows],
) -> Rows:
    base = {
        name: list(column) for name, column in zip(columns, zip(*rows, strict=True), strict=True)
    }
    named, moments = {}, {}
    for column in table.columns:
        for key in column.foreign_keys:
            of = key.column.table.name
            if of in own and of != "job":
                places = [own[of].get(value) for value in base[column.name]]
                if any(place is not None for place in places):
                    named[column.name] = of, places
        if column.name == "job_id":
            named[column.name] = "job", [None if v is None else 0 for v in base["job_id"]]
        if isinstance(column.type, Utc | DateTime | Date):
            moments[column.name] = [
                None if v is None else (date.fromisoformat(v[:10]).toordinal() - first_day, v[10:])
                for v in base[column.name]
            ]
    if table.name == "event":
        subjects = zip(base["subject"], base["subject_id"], strict=True)
        base["subject_id"] = [
            (name, own.get(name, {}).get(which), which) for name, which in subjects
        ]
    return Rows(
        table, len(rows), base, named, moments, _ports(table.name, len(rows), base, named, parts)
    )


def _ports(
    name: str,
    count: int,
    base: Mapping[str, Column],
    named: Mapping[str, tuple[str, list[int | None]]],
    parts: Mapping[str, Rows],
) -> list[int | None]:
    """Which position each row is of, as far as its bore goes."""
    if name == "reading":
        sets = parts["reading_set"].port
        return [
            sets[place] if place is not None and quantity == "bore" else None
            for place, quantity in zip(named["reading_set_id"][1], base["quantity"], strict=True)
        ]
    if name in ("port_pass", "port_fact"):
        return named["port_id"][1]
    if "port_pass_id" in named:
        passes = parts["port_pass"].port
        return [None if place is None else passes[place] for place in named["port_pass_id"][1]]
    return [None] * count


# Copying


_VARIED = frozenset(
    (
        Source.NUMBER,
        Source.CUSTOMER,
        Source.PHONE,
        Source.AGREED,
        Source.COLLECTED,
        Source.WANTED,
        Source.COMEBACK,
        Source.CASTING,
        Source.SERIAL,
        Source.LOT,
        Source.SUPPLIER,
        Source.CUTTER,
    )
)
_words: dict[tuple[Source, str], frozenset[str]] = {}


def words_of_copy(pattern: Pattern, copy: Copy) -> str:
    """What a copy is found by, as the program itself would keep it."""
    texts = [
        (Source.NUMBER, copy.number),
        (Source.CUSTOMER, copy.customer),
        (Source.PHONE, copy.phone),
        (Source.WANTED, copy.wanted),
        (Source.COMEBACK, copy.comeback_cause),
        (Source.CASTING, copy.casting),
        (Source.SERIAL, copy.serial),
    ]
    if "ring_set" in pattern.parts:
        texts += [(Source.LOT, copy.lot), (Source.SUPPLIER, copy.supplier)]
    if "setting" in pattern.parts:
        texts.append((Source.CUTTER, str(copy.cutter_id)))
    every = set(pattern.words)
    for each in texts:
        if each not in _words:
            _words[each] = frozenset(words_of(*each)) if each[1] else frozenset()
        every |= _words[each]
    return " ".join(sorted(every))


class Copier:
    """Makes copies in order; ids and the log's chain go on from what is there."""

    def __init__(self, last_ids: Mapping[str, int], head: str, days: Sequence[str]) -> None:
        self.next_ids = {name: last_ids.get(name, 0) + 1 for name in TABLES}
        self.head = head
        self._days = days
        self.rows: dict[str, list[tuple[Any, ...]]] = {name: [] for name in TABLES}

    def copy(self, pattern: Pattern, copy: Copy) -> int:
        """All rows of one more job; the job's id."""
        for name, rows in pattern.parts.items():
            copy.first[name] = self.next_ids[name]
            self.next_ids[name] += rows.count
        made: dict[str, dict[str, Column]] = {}
        for name, rows in pattern.parts.items():
            made[name] = self._columns(pattern, rows, copy)
            _VARY.get(name, lambda *_: None)(pattern, rows, copy, made[name])
        if "event" in made:
            self._chain(pattern, copy, made)
        for name, columns in made.items():
            self.rows[name].extend(zip(*columns.values(), strict=True))
        job_id = copy.first["job"]
        self.add("job_words", job_id=job_id, words=words_of_copy(pattern, copy))
        return job_id

    def add(self, name: str, /, **values: Any) -> int:
        """One row of its own; what is not said is empty."""
        row_id = self.next_ids[name]
        self.next_ids[name] += 1
        values["id"] = row_id
        self.rows[name].append(tuple(values.get(column.name) for column in TABLES[name].columns))
        return row_id

    def taken(self) -> Iterator[tuple[str, list[tuple[Any, ...]]]]:
        """What was made since, table by table, each after those that it names."""
        for name, rows in self.rows.items():
            if rows:
                yield name, rows
                self.rows[name] = []

    def _columns(self, pattern: Pattern, rows: Rows, copy: Copy) -> dict[str, Column]:
        made = dict(rows.base)
        own = copy.first[rows.table.name]
        made["id"] = list(range(own, own + rows.count))
        for column, (of, places) in rows.named.items():
            first = copy.first[of]
            made[column] = [
                same if place is None else first + place
                for place, same in zip(places, rows.base[column], strict=True)
            ]
        days, since = self._days, pattern.first_day + copy.days
        for column, moments in rows.moments.items():
            made[column] = [each and days[since + each[0]] + each[1] for each in moments]
        return made

    def _chain(self, pattern: Pattern, copy: Copy, made: Mapping[str, dict[str, Column]]) -> None:
        events = made["event"]
        told_of = events["subject_id"]
        events["subject_id"] = [
            same if place is None else copy.first[name] + place for name, place, same in told_of
        ]
        events["body"] = [
            _body(text, name, place, pattern, copy, made)
            for text, (name, place, _) in zip(events["body"], told_of, strict=True)
        ]
        events["prev"], events["hash"] = [], []
        for at, by, verb, subject, which, job, head, port, body in zip(
            *(events[name] for name in _HASHED), strict=True
        ):
            if subject == "sheet":
                made["sheet"]["log_head"][which - copy.first["sheet"]] = self.head
            events["prev"].append(self.head)
            self.head = _hash(self.head, at, by, verb, subject, which, (job, head, port), body)
            events["hash"].append(self.head)


_HASHED = ("at", "by_id", "verb", "subject", "subject_id", "job_id", "head_id", "port_id", "body")


def _hash(
    prev: str,
    at: str,
    by: int,
    verb: str,
    subject: str,
    which: int,
    about: tuple[int | None, ...],
    body: str,
) -> str:
    """`event_hash`, a dozen times as quick; a check of the shop tells whether it is the same."""
    moment = at.replace(" ", "T").removesuffix(".000000")
    told = ",".join("null" if one is None else str(one) for one in about)
    return sha256(
        f'{prev}\n{{"about":[{told}],"at":"{moment}+00:00","by":{by},'
        f'"subject":["{subject}",{which}],"verb":{_quoted(verb)}}}\n{body}'
    )


@cache
def _quoted(text: str) -> str:
    return json.dumps(text)


def _body(
    text: str,
    subject: str,
    place: int | None,
    pattern: Pattern,
    copy: Copy,
    made: Mapping[str, dict[str, Column]],
) -> str:
    """An event's figures with the copy's ids; readings with their figures as they are now."""
    if subject == "sheet" and place is not None:
        sheet = made["sheet"]
        digests = {"sha256": sheet["sha256"][place], "data_sha256": sha256(sheet["data"][place])}
        return canonical({**json.loads(text), **digests})
    known = pattern.bodies.get(text)
    if known is None:
        return text
    readings = copy.first.get("reading", 0)
    values = made["reading"]["value"] if readings else []
    told = []
    for piece in known:
        if isinstance(piece, str):
            told.append(piece)
        elif piece[0] == "reading":
            told.append(
                ",".join(
                    f'[{readings + place},"{what}",{values[place]}]' for place, what in piece[1]
                )
            )
        else:
            first = copy.first[piece[0]]
            told.append(",".join(str(first + place) for place, _ in piece[1]))
    return "".join(told)


def _pieces(text: str, own: Mapping[str, Mapping[int, int]]) -> tuple[Any, ...] | None:
    """An event's body cut where it names the job's own rows; None where it names none."""
    body = json.loads(text)
    pieces: list[Any] = []
    for key, of in _NAMED.items():
        named = body.get(key)
        if not isinstance(named, list) or not named:
            continue
        ids = [one[0] if isinstance(one, list) else one for one in named]
        if any(one not in own.get(of, {}) for one in ids):
            continue
        before, behind = text.split(canonical(named)[1:-1], 1)
        places = [own[of][one] for one in ids]
        if key == "readings":
            pieces = [
                before,
                ("reading", [(n, one[1]) for n, one in zip(places, named, strict=True)]),
            ]
        else:
            pieces = [before, (of, [(place, "") for place in places])]
        return (*pieces, behind)
    return None


# What differs


def _job(pattern: Pattern, rows: Rows, copy: Copy, made: dict[str, Column]) -> None:
    made["number"], made["year"], made["seq"] = [copy.number], [copy.year], [copy.seq]
    made["customer_id"], made["wanted"] = [copy.customer_id], [copy.wanted]
    made["comeback_of_id"] = [copy.comeback_of_id]
    made["comeback_cause"] = [copy.comeback_cause]
    if made["collected_by"][0]:
        made["collected_by"] = [copy.customer]


def _consent(pattern: Pattern, rows: Rows, copy: Copy, made: dict[str, Column]) -> None:
    made["name"] = [copy.customer] * rows.count


def _head(pattern: Pattern, rows: Rows, copy: Copy, made: dict[str, Column]) -> None:
    made["casting"] = [copy.casting] * rows.count
    made["serial"] = [copy.serial] * rows.count


def _ring_set(pattern: Pattern, rows: Rows, copy: Copy, made: dict[str, Column]) -> None:
    made["supplier"], made["lot"] = [copy.supplier] * rows.count, [copy.lot] * rows.count
    made["label_od"] = [each and each + copy.label_off for each in made["label_od"]]


def _setting(pattern: Pattern, rows: Rows, copy: Copy, made: dict[str, Column]) -> None:
    made["cutter_id"] = [copy.cutter_id] * rows.count
    made["tip_change_id"] = [copy.tip_id] * rows.count
    # One of a cutter's settings is live at most, and that is a pattern's.
    made["state"] = ["lapsed"] * rows.count


def _offs(pattern: Pattern, rows: Rows, copy: Copy) -> list[int]:
    return [0 if port is None else copy.off[port] * pattern.division for port in rows.port]


def _sample(pattern: Pattern, rows: Rows, copy: Copy, made: dict[str, Column]) -> None:
    made["cutter_id"] = [copy.cutter_id] * rows.count
    made["tip_change_id"] = [copy.tip_id] * rows.count
    offs = _offs(pattern, rows, copy)
    made["measured"] = [nm + off for nm, off in zip(made["measured"], offs, strict=True)]


def _verification(pattern: Pattern, rows: Rows, copy: Copy, made: dict[str, Column]) -> None:
    offs = _offs(pattern, rows, copy)
    made["bore_mean"] = [nm + off for nm, off in zip(made["bore_mean"], offs, strict=True)]
    made["interference"] = [nm - off for nm, off in zip(made["interference"], offs, strict=True)]


def _port_fact(pattern: Pattern, rows: Rows, copy: Copy, made: dict[str, Column]) -> None:
    offs = _offs(pattern, rows, copy)
    made["bore"] = [nm + off for nm, off in zip(made["bore"], offs, strict=True)]
    made["interference"] = [nm - off for nm, off in zip(made["interference"], offs, strict=True)]
    made["supplier"], made["lot"] = [copy.supplier] * rows.count, [copy.lot] * rows.count
    made["label_od"] = [each and each + copy.label_off for each in made["label_od"]]


def _reading(pattern: Pattern, rows: Rows, copy: Copy, made: dict[str, Column]) -> None:
    values, typed = list(made["value"]), list(made["typed"])
    for n, port in enumerate(rows.port):
        if port is not None and copy.off[port]:
            values[n] += copy.off[port] * pattern.division
            typed[n] = (
                f"{values[n] / 25_400_000:.4f}"
                if pattern.division == 2540
                else f"{values[n] / 1_000_000:.3f}"
            )
    made["value"], made["typed"] = values, typed
    made["client_key"] = [f"copied.{one:010d}" for one in made["id"]]


def _sheet(pattern: Pattern, rows: Rows, copy: Copy, made: dict[str, Column]) -> None:
    for name in ("html", "data"):
        made[name] = [
            each.replace(pattern.number, copy.number).replace(pattern.customer, copy.customer)
            for each in made[name]
        ]
    made["sha256"] = [sha256(each) for each in made["html"]]
    made["log_head"] = list(made["log_head"])


_VARY: dict[str, Callable[[Pattern, Rows, Copy, dict[str, Column]], None]] = {
    "job": _job,
    "consent": _consent,
    "head": _head,
    "ring_set": _ring_set,
    "setting": _setting,
    "overcut_sample": _sample,
    "verification": _verification,
    "port_fact": _port_fact,
    "reading": _reading,
    "sheet": _sheet,
}
