"""Everything on record of one job as one document, for programs and for keeping elsewhere."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from sqlmodel import Session

from app.models.job import Job
from app.models.shop import Shop
from app.queries.plain_rows import Plain, names_of_people, refers_to, rows_where

SCHEMA = "seatwright-job"
# Rises when a key goes or means something else; a new key is no other version.
SCHEMA_VERSION = 1
ABOUT = (
    "Lengths are whole nanometres (nm) with text in inches and millimetres; times are UTC, "
    "amounts minor units of the shop's currency. A reading with a strike no longer counts. "
    "A result's sha256 is over its record_text, an event's hash over the hash before it (prev), "
    "a line end, its header, a line end and its body. Sheets and photos are named by their sha256."
)
# Tools that rows of a job refer to, told once at the end.
TOOLS = ("machine", "cutter", "tip_change", "pilot", "fixture", "instrument")


@dataclass(frozen=True, slots=True)
class Branch:
    """Rows that belong to rows: under which key, of which table, by which of its columns."""

    key: str
    table: str
    by: str
    branches: tuple[Branch, ...] = ()


def _readings(by: str) -> Branch:
    readings = Branch(
        "readings",
        "reading",
        "reading_set_id",
        (
            Branch("strike", "reading_strike", "reading_id"),
            Branch("kept_although_doubtful", "reading_kept", "reading_id"),
        ),
    )
    return Branch("reading_sets", "reading_set", by, (readings,))


_PASSES = Branch(
    "passes",
    "port_pass",
    "port_id",
    (
        Branch("openings", "cut_opening", "port_pass_id"),
        Branch("cuts", "cut", "port_pass_id"),
        Branch("verifications", "verification", "port_pass_id"),
        Branch("rings_in", "ring_in", "port_pass_id"),
        Branch(
            "overcut_samples",
            "overcut_sample",
            "port_pass_id",
            (Branch("strikes", "overcut_strike", "overcut_sample_id"),),
        ),
        Branch("signed_figures", "port_fact", "port_pass_id"),
        _readings("port_pass_id"),
    ),
)
POSITIONS = Branch(
    "positions",
    "port",
    "head_id",
    (
        Branch("guide_work", "guide_work", "port_id"),
        Branch("rings_out", "ring_out", "port_id"),
        _PASSES,
        Branch("holds", "hold", "port_id", (Branch("releases", "hold_release", "hold_id"),)),
        Branch("finishes", "finish", "port_id"),
        Branch("valves", "valve_fate", "port_id"),
        _readings("port_id"),
    ),
)
_HEADS = Branch(
    "heads",
    "head",
    "job_id",
    (
        Branch(
            "inspections",
            "inspection",
            "head_id",
            (Branch("figures", "inspection_figure", "inspection_id"),),
        ),
        Branch("decisions", "head_decision", "head_id"),
        Branch("not_done", "not_done", "head_id"),
        Branch("seat_plans", "seat_plan", "head_id"),
        _readings("head_id"),
        POSITIONS,
        Branch(
            "clamp_ups",
            "clamp_up",
            "head_id",
            (Branch("turns", "clamp_up_turn", "clamp_up_id"),),
        ),
        Branch(
            "heats",
            "heat",
            "head_id",
            (
                Branch("positions", "heat_port", "heat_id"),
                Branch("closes", "heat_close", "heat_id"),
            ),
        ),
        Branch("deck_cuts", "deck_cut", "head_id"),
    ),
)
_SETTINGS = Branch(
    "settings",
    "setting",
    "job_id",
    (
        Branch("positions", "setting_port", "setting_id"),
        Branch("adjustments", "setting_adjustment", "setting_id"),
        _readings("setting_id"),
    ),
)
_SIGNATURES = Branch(
    "signatures",
    "signature",
    "job_id",
    (
        Branch("positions", "signature_port", "signature_id"),
        Branch("stage_times", "stage_time", "signature_id"),
    ),
)
JOB_BRANCHES = (
    Branch("consents", "consent", "job_id"),
    Branch("received", "received", "job_id"),
    Branch("price_lines", "price_line", "job_id"),
    Branch("notes", "note", "job_id", (Branch("taken", "note_taken", "note_id"),)),
    Branch("notices", "notice", "job_id"),
    Branch("wanted_rings", "wanted_ring", "job_id"),
    _HEADS,
    _SETTINGS,
    _SIGNATURES,
    Branch("sheets", "sheet", "job_id"),
    Branch("photos", "photo", "job_id", (Branch("strikes", "photo_strike", "photo_id"),)),
)
RING_SETS = Branch(
    "ring_sets",
    "ring_set",
    "id",
    (Branch("rings", "ring", "ring_set_id", (_readings("ring_id"),)),),
)
RESULTS = (
    Branch("readings", "result_reading", "result_id"),
    Branch("no_longer_stands", "no_longer_stands", "result_id"),
)


@dataclass
class Reader:
    """Reads branches, and remembers which ids of other tables their rows name."""

    session: Session
    people: Mapping[int, str]
    met: dict[str, set[int]] = field(default_factory=lambda: defaultdict(set))

    def read(self, branch: Branch, ids: Iterable[int]) -> list[Plain]:
        rows = rows_where(self.session, branch.table, branch.by, set(ids), self.people)
        self.note(branch.table, rows)
        self.grow(rows, branch.branches)
        return rows

    def grow(self, rows: list[Plain], branches: Iterable[Branch]) -> None:
        """Hang onto each row what belongs to it."""
        of_row = {row["id"]: row for row in rows}
        for branch in branches:
            for row in rows:
                row[branch.key] = []
            for found in self.read(branch, of_row) if rows else []:
                of_row[found[branch.by]][branch.key].append(found)

    def note(self, table: str, rows: list[Plain]) -> None:
        self.met[table] |= {row["id"] for row in rows}
        for target in ("ring_set", "ring", *TOOLS):
            for column in refers_to(table, target):
                self.met[f"{target}.id"] |= {row[column] for row in rows if row[column]}


def job_document(session: Session, job: Job) -> Plain:
    """The document; the number of statements does not grow with the job."""
    people = names_of_people(session)
    reader = Reader(session, people)
    (found,) = rows_where(session, "job", "id", [job.id], people)
    reader.grow([found], JOB_BRANCHES)
    customers = [job.customer_id] if job.customer_id else []
    customer = rows_where(session, "customer", "id", customers, people)
    ring_sets = _ring_sets(reader, job.id)
    results = _results(reader)
    events = rows_where(session, "event", "job_id", [job.id], people)
    shop = session.get_one(Shop, 1)
    return {
        "schema": SCHEMA,
        "schema_version": SCHEMA_VERSION,
        "about": ABOUT,
        "shop": {
            "name": shop.name,
            "zone": shop.zone,
            "currency": shop.currency,
            "unit": shop.unit.value,
        },
        "customer": customer[0] if customer else None,
        "job": found,
        "ring_sets": ring_sets,
        "results": results,
        "events": events,
        "tools": {
            table: rows_where(session, table, "id", reader.met[f"{table}.id"], people)
            for table in TOOLS
        },
    }


def _ring_sets(reader: Reader, job_id: int) -> list[Plain]:
    """The job's own, and those that its positions name and that stand elsewhere by now."""
    session, people = reader.session, reader.people
    own = rows_where(session, "ring_set", "job_id", [job_id], people)
    rings = rows_where(session, "ring", "id", reader.met["ring.id"], people)
    ids = {row["id"] for row in own} | reader.met["ring_set.id"]
    return reader.read(RING_SETS, ids | {row["ring_set_id"] for row in rings})


def _results(reader: Reader) -> list[Plain]:
    found: dict[int, Plain] = {}
    for column, table in (
        ("port_id", "port"),
        ("port_pass_id", "port_pass"),
        ("setting_id", "setting"),
    ):
        rows = rows_where(reader.session, "result", column, reader.met[table], reader.people)
        found |= {row["id"]: row for row in rows}
    results = [found[key] for key in sorted(found)]
    for row in results:
        row["record_text"] = row["record"]
        row["record"] = json.loads(row["record_text"])
    reader.grow(results, RESULTS)
    return results
