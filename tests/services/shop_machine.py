"""A shop where two people do anything at all in any order, watched from outside.

What may not happen is looked up in the tables themselves, apart from the code that decides it.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from contextlib import ExitStack
from itertools import count
from pathlib import Path
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from sqlalchemy import text

from app.keeping.check import check_records
from app.models.head import Head
from app.models.port_pass import PortPass
from app.models.ring import Ring, RingSet
from app.models.setting import Setting
from app.services.cuts import open_cut, say_not_cut
from app.services.cutters import change_tip
from app.services.holds import stop_position
from app.services.readings import strike_reading
from app.services.ring_sets import choose_ring
from app.services.rings_in import take_ring_out
from app.services.settings import end_setting
from app.services.write import Refused
from app.workflow.kinds import ReadingKind
from app.workflow.words import InspectionKind, Outcome, Way
from app.worksheets.readings import Subject
from seed_demo.hands import FIRST_RING, OTHER_RING, PLAIN, Fumbled
from tests.databases import opened
from tests.postgres import Cluster
from tests.services.floor import Done, Floor, Floors, nothing

STARTS: tuple[Done, ...] = (Floor.bored, Floor.corrected, Floor.first_bored, Floor.ringed, nothing)
RINGED = st.sampled_from(["2E", "3E"])
ANYWHERE = st.sampled_from(["2E", "3E", "2E", "3E", "1E", "4E"])
BORES = st.sampled_from(["1.6222", "1.6222", "1.6221", "1.6205", "1.6228", "1.6240"])
ODS = st.sampled_from(["1.6262", "1.6261", "1.6255", "1.6270"])
ANY = st.integers(0, 10**6)

# Rows that never change once they are there, and passes once they are closed.
FOR_GOOD = (
    *("reading", "reading_strike", "result", "no_longer_stands", "cut", "verification", "hold"),
    *("hold_release", "ring_in", "signature", "signature_port", "overcut_sample", "event"),
)
ONE_LIVE = (
    "SELECT cutter_id FROM setting WHERE state = 'live' GROUP BY cutter_id HAVING count(*) > 1"
)
ONE_OPEN = (
    "SELECT port_id FROM port_pass WHERE closed_at IS NULL GROUP BY port_id HAVING count(*) > 1"
)
ONE_RING = (
    "SELECT ring_id FROM port_pass WHERE closed_at IS NULL AND ring_id IS NOT NULL"
    " GROUP BY ring_id HAVING count(*) > 1"
)

# Each names rows that would be wrong about the newest cut opening, or about the newest ring in.
_COUNTS = "r.id NOT IN (SELECT reading_id FROM reading_strike)"
WRONG_CUTS = {
    "another position than the setting names": (
        "SELECT 1 FROM cut_opening o WHERE o.id = :id AND NOT EXISTS (SELECT 1 FROM setting_port"
        " s WHERE s.setting_id = o.setting_id AND s.port_pass_id = o.port_pass_id)"
    ),
    "a setting that was not live": (
        "SELECT 1 FROM cut_opening o JOIN setting s ON s.id = o.setting_id"
        " WHERE o.id = :id AND s.state <> 'live'"
    ),
    "a target that no longer stands": (
        "SELECT 1 FROM cut_opening o JOIN no_longer_stands n ON n.result_id = (SELECT max(t.id)"
        " FROM result t WHERE t.port_pass_id = o.port_pass_id AND t.kind = 'target')"
        " WHERE o.id = :id"
    ),
    "a closed pass": (
        "SELECT 1 FROM cut_opening o JOIN port_pass p ON p.id = o.port_pass_id"
        " WHERE o.id = :id AND p.closed_at IS NOT NULL"
    ),
    "no stem height": (
        "SELECT 1 FROM cut_opening o JOIN port_pass p ON p.id = o.port_pass_id WHERE o.id = :id"
        " AND NOT EXISTS (SELECT 1 FROM reading r JOIN reading_set s ON s.id = r.reading_set_id"
        f" WHERE s.port_id = p.port_id AND s.kind = 'stem_heights' AND {_COUNTS})"
    ),
    "a crack": (
        "SELECT 1 FROM inspection i WHERE i.outcome = 'not_ok' AND i.id ="
        " (SELECT max(n.id) FROM inspection n WHERE n.kind = 'crack') AND :id > 0"
    ),
    "work that is undecided": "SELECT 1 FROM port WHERE work = 'undecided' AND :id > 0",
}
WRONG_RINGS = {
    "no cut": (
        "SELECT 1 FROM ring_in i WHERE i.id = :id AND NOT EXISTS"
        " (SELECT 1 FROM cut c WHERE c.port_pass_id = i.port_pass_id)"
    ),
    "no bore or depth read since the last cut": (
        "SELECT 1 FROM ring_in i WHERE i.id = :id AND 2 > (SELECT count(DISTINCT r.quantity)"
        " FROM reading r JOIN reading_set s ON s.id = r.reading_set_id JOIN cut c ON"
        " c.id = (SELECT max(l.id) FROM cut l WHERE l.port_pass_id = i.port_pass_id)"
        " WHERE s.port_pass_id = i.port_pass_id AND s.kind = 'bore'"
        f" AND r.quantity IN ('bore', 'depth') AND r.kept_at >= c.at AND {_COUNTS})"
    ),
    "no verdict, or one that needs a deviation": (
        "SELECT 1 FROM ring_in i LEFT JOIN verification v ON v.id = (SELECT max(n.id) FROM"
        " verification n WHERE n.port_pass_id = i.port_pass_id) WHERE i.id = :id AND (v.id IS NULL"
        " OR v.verdict IN ('loose', 'tight') AND NOT EXISTS (SELECT 1 FROM hold_release d"
        " JOIN hold h ON h.id = d.hold_id WHERE h.port_pass_id = i.port_pass_id"
        " AND d.is_deviation))"
    ),
    "an open hold": (
        "SELECT 1 FROM ring_in i JOIN port_pass p ON p.id = i.port_pass_id JOIN hold h ON"
        " h.port_id = p.port_id WHERE i.id = :id AND NOT EXISTS"
        " (SELECT 1 FROM hold_release d WHERE d.hold_id = h.id)"
    ),
    "a result that no longer stands": (
        "SELECT 1 FROM ring_in i JOIN result t ON t.port_pass_id = i.port_pass_id AND t.kind IN"
        " ('target', 'verification') JOIN no_longer_stands n ON n.result_id = t.id"
        " WHERE i.id = :id AND NOT EXISTS (SELECT 1 FROM result l WHERE l.kind = t.kind AND"
        " l.port_pass_id = t.port_pass_id AND l.id > t.id) AND NOT EXISTS (SELECT 1 FROM"
        " hold_release d JOIN hold h ON h.id = d.hold_id WHERE h.port_pass_id = i.port_pass_id"
        " AND d.is_deviation AND d.at >= n.at)"
    ),
    "a ring of another set": (
        "SELECT 1 FROM ring_in i JOIN port_pass p ON p.id = i.port_pass_id JOIN ring r ON"
        " r.id = i.ring_id JOIN port o ON o.id = p.port_id"
        " WHERE i.id = :id AND r.ring_set_id <> o.ring_set_id"
    ),
    "a ring that is in elsewhere": (
        "SELECT 1 FROM ring_in i JOIN ring_in o ON o.ring_id = i.ring_id AND o.port_pass_id <>"
        " i.port_pass_id WHERE i.id = :id AND NOT o.withdrawn AND o.id = (SELECT max(n.id) FROM"
        " ring_in n WHERE n.port_pass_id = o.port_pass_id AND n.ring_id = o.ring_id)"
    ),
}
WRONG_SIGNATURES = {
    "no ring in": (
        "SELECT 1 FROM signature_port s JOIN port p ON p.id = s.port_id WHERE s.signature_id = :id"
        " AND p.work = 'ring' AND NOT EXISTS (SELECT 1 FROM ring_in i WHERE i.port_pass_id ="
        " s.port_pass_id AND NOT i.withdrawn)"
    ),
    "an open hold": (
        "SELECT 1 FROM signature_port s JOIN hold h ON h.port_id = s.port_id WHERE"
        " s.signature_id = :id AND NOT EXISTS (SELECT 1 FROM hold_release d WHERE d.hold_id = h.id)"
    ),
    "a verdict that no longer stands": (
        "SELECT 1 FROM signature_port s JOIN no_longer_stands n ON n.result_id = (SELECT max(t.id)"
        " FROM result t WHERE t.port_pass_id = s.port_pass_id AND t.kind = 'verification')"
        " WHERE s.signature_id = :id AND NOT EXISTS (SELECT 1 FROM hold_release d JOIN hold h ON"
        " h.id = d.hold_id WHERE h.port_pass_id = s.port_pass_id AND d.is_deviation"
        " AND d.at >= n.at)"
    ),
}


class Copies:
    """Fresh databases of one kind, each a copy of a floor at a stage."""

    def __init__(
        self, floors: Floors, kind: str, folder: Path, postgres: Callable[[], Cluster]
    ) -> None:
        self.floors, self.kind, self.folder, self.postgres = floors, kind, folder, postgres
        self.numbers = count()
        self.done: dict[str, int] = {}

    def floor(self, start: Done, until: ExitStack) -> Floor:
        """A floor that nobody else works on, until the stack is closed."""
        if self.kind == "sqlite":
            file = self.folder / f"shop {next(self.numbers)}.sqlite3"
            shutil.copyfile(self.floors.sqlite(start), file)
            url = f"sqlite:///{file}"
        else:
            cluster = self.postgres()
            name = cluster.new_database(self.floors.postgresql(start))
            until.callback(cluster.drop, name)
            url = cluster.url(name)
        return self.floors.floor(start, until.enter_context(opened(url)))


class ShopMachine(RuleBasedStateMachine):
    """Anything, by anyone, at any time: refused in words or done whole."""

    def __init__(self, copies: Copies) -> None:
        super().__init__()
        self.copies = copies
        self.stack = ExitStack()
        self.seen: dict[str, dict[int, tuple[Any, ...]]] = {name: {} for name in FOR_GOOD}
        self.closed: dict[int, tuple[Any, ...]] = {}

    @initialize(start=st.sampled_from(STARTS))
    def begin(self, start: Done) -> None:
        self.floor = self.copies.floor(start, self.stack)
        self.hands = self.floor.hands
        self.hands.later(minutes=5)
        self.remember()

    def teardown(self) -> None:
        try:
            if hasattr(self, "floor"):
                self.look_back()
        finally:
            self.stack.close()

    # What people do

    def tried(self, name: str, act: Callable[[], object]) -> bool:
        """Done, or refused in words; anything else is a fault."""
        try:
            act()
        except (Refused, Fumbled):
            name += ", refused"
        self.copies.done[name] = self.copies.done.get(name, 0) + 1
        return not name.endswith("refused")

    @rule(is_owner=st.booleans(), minutes=st.sampled_from([1, 1, 20, 60 * 25]))
    def somebody_else_or_later(self, is_owner: bool, minutes: int) -> None:
        cast_ = self.floor.cast
        self.hands.by(cast_.owner if is_owner else cast_.machinist).later(minutes=minutes)

    @rule()
    def take_in(self) -> None:
        before = self.one("SELECT max(seq) FROM job")
        assert self.tried("took in", lambda: self.hands.take_in(customer="Oak Lane", wanted="x"))
        assert self.one("SELECT max(seq) FROM job") == before + 1

    @rule(od=ODS, which=ANY)
    def read_a_ring(self, od: str, which: int) -> None:
        sets = self.rows("SELECT id FROM ring_set")
        if not sets:
            self.tried("read rings", self.floor.read_rings)
            return
        with self.floor.database.read() as session:
            ring_set = session.get_one(RingSet, sets[-1][0])
        rings = self.hands.rings_of(ring_set)
        n = which % len(rings)
        columns, texts = (FIRST_RING, [od] * 4) if n == 0 else (OTHER_RING, [od, od])
        subject = Subject("ring", rings[n].id)
        self.tried(
            "read a ring",
            lambda: self.hands._read(
                ring_set, ReadingKind.RING, columns, [(subject, "ring", texts)], PLAIN
            ),
        )

    @rule(which=ANY)
    def strike(self, which: int) -> None:
        found = self.rows(
            "SELECT r.id, s.head_id, s.port_id, s.port_pass_id, s.ring_id FROM reading r JOIN"
            f" reading_set s ON s.id = r.reading_set_id WHERE {_COUNTS} AND s.setting_id IS NULL"
            " ORDER BY r.id DESC"
        )
        reading, head, port, port_pass, ring = found[which % min(len(found), 12)]

        def act() -> None:
            with self.hands.writing() as tx:
                about: Any = tx.session.get_one(Head, head or self.floor.head.id)
                if port_pass:
                    about = tx.session.get_one(PortPass, port_pass)
                elif ring:
                    (set_id,) = self.rows(f"SELECT ring_set_id FROM ring WHERE id = {ring}")[0]
                    about = tx.session.get_one(RingSet, set_id)
                strike_reading(tx, reading, "slipped", about)

        assert port or head or port_pass or ring
        self.tried("struck", act)

    @rule(label=RINGED, which=ANY)
    def swap(self, label: str, which: int) -> None:
        rings = self.rows("SELECT id FROM ring ORDER BY id")

        def act() -> None:
            with self.hands.writing() as tx:
                port = self.floor.ports[label]
                chosen = rings[which % len(rings)][0] if rings and which % 3 else None
                ring = tx.session.get_one(Ring, chosen) if chosen else None
                choose_ring(tx, tx.session.get_one(type(port), port.id), ring)

        self.tried("chose a ring", act)

    @rule(labels=st.sampled_from([("2E", "3E"), ("2E",), ("3E",), ("1E",)]))
    def make_setting(self, labels: tuple[str, ...]) -> None:
        floor = self.floor
        self.tried(
            "made a setting",
            lambda: self.hands.set_to(
                self.hands.make_setting(
                    floor.job,
                    [floor.ports[label] for label in labels],
                    cutter=floor.cutter.id,
                    fixture=floor.fixture.id,
                    pilot=floor.pilot.id,
                )
            ),
        )

    @rule(which=ANY, typed=st.sampled_from(["", "", ".8110", ".8111", ".8130"]))
    def set_it(self, which: int, typed: str) -> None:
        if setting := self.setting(which):
            self.tried("set a cutter", lambda: self.hands.set_to(setting, typed or None))

    @rule(which=ANY, what=st.sampled_from(["correct", "correct", "correct", "end", "tip"]))
    def change_a_setting(self, which: int, what: str) -> None:
        setting = self.setting(which)
        if setting is None:
            return

        def act() -> None:
            if what == "correct":
                self.hands.correct(setting, "1.6205", 0)
                return
            with self.hands.writing() as tx:
                if what == "end":
                    end_setting(tx, setting.id, "done with it")
                else:
                    change_tip(tx, self.floor.cutter.id, "ground")

        self.tried(f"setting: {what}", act)

    @rule()
    def clamp(self) -> None:
        self.tried("clamped up", self.floor.clamp)

    @rule(label=ANYWHERE, which=ANY, was_touched=st.booleans(), size=BORES)
    def cut(self, label: str, which: int, was_touched: bool, size: str) -> None:
        setting = self.setting(which)
        if setting is None:
            return
        if which % 4:
            # As a machinist would: set and read back, the head clamped up.
            self.tried("set a cutter", lambda: self.hands.set_to(setting))
            self.tried("clamped up", self.floor.clamp)

        def act() -> None:
            with self.hands.writing() as tx:
                open_cut(tx, self.floor.ports[label], setting.id, was_touched=was_touched)

        if self.tried("opened a cut", act):
            self.right("cut_opening", WRONG_CUTS)
            self.gauge(label, size)

    # Acts that draw nothing come often, others seldom: without these no bore would be cut.

    @rule()
    def bore_2e(self) -> None:
        self.bore("2E")

    @rule()
    def bore_3e(self) -> None:
        self.bore("3E")

    def bore(self, label: str) -> None:
        """As a machinist would: set and read back, clamped up, cut, gauged, proved."""
        if setting := self.setting(0):
            self.tried("set a cutter", lambda: self.hands.set_to(setting))
            self.tried("clamped up", self.floor.clamp)
            self.cut(label, 0, True, "1.6222")
            self.prove(label, False)

    @rule()
    def press_one(self) -> None:
        for n, label in enumerate(("2E", "3E")):
            self.press(label, n, "")

    @rule(label=RINGED)
    def not_cut(self, label: str) -> None:
        def act() -> None:
            with self.hands.writing() as tx:
                say_not_cut(tx, self.floor.ports[label])

        self.tried("not cut", act)

    @rule(label=RINGED, size=BORES)
    def gauge_again(self, label: str, size: str) -> None:
        self.gauge(label, size)

    def gauge(self, label: str, size: str) -> None:
        port = self.floor.ports[label]
        self.tried("gauged", lambda: self.hands.gauge(port, [size, size, ".2501"]))

    @rule(label=RINGED, edge_is_known=st.booleans())
    def prove(self, label: str, edge_is_known: bool) -> None:
        port = self.floor.ports[label]
        self.tried("proved", lambda: self.hands.prove(port, edge_is_known))

    @rule(label=ANYWHERE, rarely=ANY)
    def stop(self, label: str, rarely: int) -> None:
        if rarely % 4:
            return

        def act() -> None:
            with self.hands.writing() as tx:
                stop_position(tx, self.floor.ports[label], "chatter")

        self.tried("stopped", act)

    @rule(label=ANYWHERE, way=st.sampled_from([w for w in Way if w is not Way.SCRAP]))
    def go_on(self, label: str, way: Way) -> None:
        port, fields = self.floor.ports[label], {"ring": "2", "decided_by": "Fern"}
        fields |= {"customer_told": "yes", "value": ".0050", "limit": ".0050"}
        self.tried("way out", lambda: self.hands.way_out(port, way, "as it is", **fields))

    @rule(label=RINGED, which=ANY, reads=st.sampled_from(["", "1.6262", "1.6261", "1.6240"]))
    def press(self, label: str, which: int, reads: str) -> None:
        rings = self.hands.rings_of(self.floor.ring_set) if self.rows("SELECT id FROM ring") else []
        if not rings:
            return
        ring = rings[which % len(rings)]
        port = self.floor.ports[label]
        fields = {"od_check": reads} if reads else {}
        if self.tried("pressed", lambda: self.hands.press(port, ring, **fields)):
            self.right("ring_in", WRONG_RINGS)

    @rule(label=RINGED)
    def take_out(self, label: str) -> None:
        def act() -> None:
            with self.hands.writing() as tx:
                take_ring_out(tx, self.floor.ports[label], "fell out")

        self.tried("took out", act)

    @rule(label=st.sampled_from(["2E", "3E", "1E"]))
    def finish(self, label: str) -> None:
        figures = {label: [".060", ".001", "1.852"]}
        self.tried("finished", lambda: self.hands.finish(self.floor.head, figures))

    @rule(
        kind=st.sampled_from([InspectionKind.CRACK, InspectionKind.PRESSURE_AFTER]),
        outcome=st.sampled_from([Outcome.OK, Outcome.OK, Outcome.NOT_OK]),
    )
    def inspect(self, kind: InspectionKind, outcome: Outcome) -> None:
        self.tried(
            "inspected",
            lambda: self.hands.inspect(
                self.floor.head, kind, outcome, method="by eye", found="hair crack"
            ),
        )

    @rule(work=st.sampled_from(["seat_only", "seat_only", "undecided", "leave"]))
    def decide(self, work: str) -> None:
        works = {"2E": "ring", "3E": "ring", "4E": "leave", "4I": work, "*": "seat_only"}
        head = self.floor.head
        self.tried("decided", lambda: self.hands.decide(head, works, {"*": "casting"}))

    @rule(labels=st.sampled_from([("2E",), ("3E",), ("2E", "3E"), ("1E",)]))
    def sign(self, labels: tuple[str, ...]) -> None:
        ports = [self.floor.ports[label] for label in labels]
        if self.tried("signed", lambda: self.hands.sign(self.floor.job, ports)):
            self.right("signature", WRONG_SIGNATURES)

    # What is looked at from outside

    @invariant()
    def one_of_each(self) -> None:
        if hasattr(self, "floor"):
            for statement in (ONE_LIVE, ONE_OPEN, ONE_RING):
                assert not self.rows(statement), statement
            self.remember()

    def right(self, table: str, wrong: dict[str, str]) -> None:
        """Nothing about the newest row of a table is as it must not be."""
        newest = self.one(f"SELECT max(id) FROM {table}")
        for what, statement in wrong.items():
            assert not self.rows(statement, id=newest), f"{table} {newest}: {what}"

    def remember(self) -> None:
        """Every row that is to stay as it is, as it was first seen."""
        for name, seen in self.seen.items():
            last = max(seen, default=0)
            seen |= {row[0]: row for row in self.every(name, f"id > {last}")}
        known = self.closed
        for row in self.every("port_pass", "closed_at IS NOT NULL"):
            known.setdefault(row[0], row)

    def look_back(self) -> None:
        """All of it is still so, and the program's own check finds nothing."""
        for name, seen in self.seen.items():
            there = {row[0]: row for row in self.every(name, "id > 0")}
            assert {key: there.get(key) for key in seen} == seen, name
        closed = {row[0]: row for row in self.every("port_pass", "closed_at IS NOT NULL")}
        assert {key: closed.get(key) for key in self.closed} == self.closed
        parts = check_records(self.floor.database, self.copies.folder)
        assert {part.name: part.faults for part in parts if part.faults} == {}

    def setting(self, which: int) -> Setting | None:
        """One of the shop's settings, the newest more often than not."""
        found = self.rows("SELECT id FROM setting ORDER BY id DESC")
        if not found:
            return None
        with self.floor.database.read() as session:
            return session.get_one(Setting, found[which % min(len(found), 2)][0])

    def every(self, table: str, where: str) -> list[tuple[Any, ...]]:
        return self.rows(f"SELECT * FROM {table} WHERE {where} ORDER BY id")

    def one(self, statement: str) -> Any:
        return self.rows(statement)[0][0]

    def rows(self, statement: str, **values: Any) -> list[tuple[Any, ...]]:
        with self.floor.database.read() as session:
            return [tuple(row) for row in session.execute(text(statement), values)]
