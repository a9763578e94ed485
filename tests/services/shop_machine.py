"""A shop where two people do anything at all in any order, watched from outside.

What may not happen is looked up in the tables themselves, apart from the code that decides it.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from itertools import count, cycle
from pathlib import Path
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from sqlalchemy import text

from app.keeping.check import check_records
from app.models.head import Head, Port
from app.models.job import Job
from app.models.port_pass import PortPass
from app.models.ring import Ring, RingSet
from app.models.setting import Setting
from app.services.cuts import open_cut, say_not_cut
from app.services.cutters import change_tip
from app.services.holds import stop_position
from app.services.owned import still_open
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

STARTS: tuple[Done, ...] = (Floor.corrected, Floor.corrected, nothing, Floor.bored, Floor.ringed)
# What comes in between, in the order in which the first shop meets it.
UNPLANNED = ("clamp", "tip", "out", "stop", "swap", "again", "strike", "other")
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
NEWEST = f"SELECT {', '.join(f'(SELECT max(id) FROM {name})' for name in FOR_GOOD)}"
ONE_OF_EACH = (
    "SELECT 'settings live', cutter_id FROM setting WHERE state = 'live' GROUP BY cutter_id"
    " HAVING count(*) > 1 UNION ALL "
    "SELECT 'passes open', port_id FROM port_pass WHERE closed_at IS NULL GROUP BY port_id"
    " HAVING count(*) > 1 UNION ALL "
    "SELECT 'passes of a ring', ring_id FROM port_pass WHERE closed_at IS NULL"
    " AND ring_id IS NOT NULL GROUP BY ring_id HAVING count(*) > 1"
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
    "a setting that this person did not read back that day": (
        "SELECT 1 FROM cut_opening o JOIN setting_adjustment a ON a.id = (SELECT max(n.id) FROM"
        " setting_adjustment n WHERE n.setting_id = o.setting_id) WHERE o.id = :id"
        " AND (a.by_id <> o.by_id OR date(a.at) <> date(o.at))"
    ),
    "a setting that was not read back since the head was clamped up again": (
        "SELECT 1 FROM cut_opening o JOIN clamp_up c ON c.id = o.clamp_up_id JOIN"
        " setting_adjustment a ON a.id = (SELECT max(n.id) FROM setting_adjustment n WHERE"
        " n.setting_id = o.setting_id) WHERE o.id = :id AND a.at < c.at AND EXISTS"
        " (SELECT 1 FROM clamp_up b WHERE b.head_id = c.head_id AND b.at <= a.at)"
    ),
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
        " AND p.work = 'ring' AND NOT EXISTS (SELECT 1 FROM ring_in i WHERE NOT i.withdrawn AND"
        " i.id = (SELECT max(n.id) FROM ring_in n WHERE n.port_pass_id = s.port_pass_id))"
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
    "a position that was signed already": (
        "SELECT 1 FROM signature_port s JOIN signature_port o ON o.port_id = s.port_id AND"
        " o.id < s.id AND o.port_pass_id = s.port_pass_id WHERE s.signature_id = :id"
    ),
}
WRONG_HAND_OVERS = {
    "a position that nobody signed": (
        "SELECT 1 FROM signature g JOIN head h ON h.job_id = g.job_id JOIN port p ON p.head_id ="
        " h.id WHERE g.id = :id AND p.work IN ('ring', 'seat_only', 'guide_only') AND NOT EXISTS"
        " (SELECT 1 FROM signature_port s WHERE s.port_id = p.id)"
    ),
    "a ring that is not in": (
        "SELECT 1 FROM signature g JOIN head h ON h.job_id = g.job_id JOIN port p ON p.head_id ="
        " h.id WHERE g.id = :id AND p.work = 'ring' AND NOT EXISTS (SELECT 1 FROM ring_in i WHERE"
        " NOT i.withdrawn AND i.id = (SELECT max(n.id) FROM ring_in n JOIN port_pass a ON a.id ="
        " n.port_pass_id WHERE a.port_id = p.id))"
    ),
    "no width, run-out or height of a seat that was cut": (
        "SELECT 1 FROM signature g JOIN head h ON h.job_id = g.job_id JOIN port p ON p.head_id ="
        " h.id WHERE g.id = :id AND p.work IN ('ring', 'seat_only') AND 3 > (SELECT"
        " count(DISTINCT r.quantity) FROM reading r JOIN reading_set s ON s.id = r.reading_set_id"
        f" WHERE s.port_id = p.id AND s.kind = 'finish' AND {_COUNTS})"
    ),
    "no pressure test that went well": (
        "SELECT 1 FROM signature g JOIN head h ON h.job_id = g.job_id WHERE g.id = :id AND NOT"
        " EXISTS (SELECT 1 FROM inspection i WHERE i.head_id = h.id AND i.outcome = 'ok' AND i.id ="
        " (SELECT max(n.id) FROM inspection n WHERE n.kind = 'pressure_after'))"
    ),
    "an open hold": (
        "SELECT 1 FROM hold h WHERE :id > 0 AND NOT EXISTS"
        " (SELECT 1 FROM hold_release d WHERE d.hold_id = h.id)"
    ),
    "parts that were not counted out": (
        "SELECT 1 FROM signature g WHERE g.id = :id AND NOT EXISTS (SELECT 1 FROM received r WHERE"
        " r.job_id = g.job_id AND r.is_out)"
    ),
}

# Where a position stands, for whoever does what comes next there.
_OPEN = "JOIN port_pass p ON p.id = x.port_pass_id AND p.closed_at IS NULL AND p.port_id = :port"
STANDS = (
    "SELECT (SELECT count(*) FROM ring),"
    f" (SELECT max(t.id) FROM setting_port x {_OPEN} JOIN setting t ON t.id = x.setting_id"
    " AND t.state <> 'ended'),"
    f" (SELECT max(x.id) FROM cut_opening x {_OPEN} AND NOT x.was_not_cut),"
    f" (SELECT max(x.id) FROM verification x {_OPEN}),"
    " (SELECT max(h.id) FROM hold h WHERE h.port_id = :port AND NOT EXISTS"
    " (SELECT 1 FROM hold_release d WHERE d.hold_id = h.id)),"
    f" (SELECT x.id FROM ring_in x {_OPEN} WHERE NOT x.withdrawn AND x.id = (SELECT max(n.id)"
    " FROM ring_in n WHERE n.port_pass_id = x.port_pass_id)),"
    " (SELECT max(s.id) FROM reading_set s WHERE s.port_id = :port AND s.kind = 'finish'),"
    " (SELECT max(g.id) FROM signature_port g WHERE g.port_id = :port)"
)


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
        self.unplanned = cycle(UNPLANNED)

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
        """Done, or refused in words; anything else is a fault. Pages refuse what is over first."""
        try:
            if name != "took in":
                with self.floor.database.read() as session:
                    still_open(session.get_one(Job, self.floor.job.id))
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

    @precondition(lambda self: self.has("setting"))
    @rule(which=ANY, typed=st.sampled_from(["", "", ".8110", ".8111", ".8130"]))
    def set_it(self, which: int, typed: str) -> None:
        if setting := self.setting(which):
            self.tried("set a cutter", lambda: self.hands.set_to(setting, typed or None))

    @precondition(lambda self: self.has("setting"))
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

    @precondition(lambda self: self.has("setting"))
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

    # What comes next at a position comes often: else hardly a ring would ever be in. The first of
    # all rules by name is all that the first shop does, from the corrected setting to the door.

    @rule()
    def as_it_often_goes(self) -> None:
        """Both positions a step further, and one thing that nobody planned."""
        for label, size in (("2E", "1.6222"), ("3E", "1.6240")):
            self.next_at(label, size)
        self.meanwhile(next(self.unplanned), "3E", 0)

    @rule(what=st.sampled_from(UNPLANNED), label=RINGED, which=ANY)
    def something_else(self, what: str, label: str, which: int) -> None:
        self.meanwhile(what, label, which)

    def meanwhile(self, what: str, label: str, which: int) -> None:
        match what:
            case "stop":
                self.stop_at(label)
            case "swap":
                self.swap(label, which)
            case "strike":
                self.strike(which)
            case "out":
                self.take_out(label)
            case "tip":
                self.change_a_setting(which, "tip")
            case "again":
                self.gauge(label, "1.6221")
            case "clamp":
                self.tried("clamped up", self.floor.clamp)
            case "other":
                self.somebody_else_or_later(bool(which % 2), 20)

    @rule(size=BORES)
    def next_at_2e(self, size: str) -> None:
        self.next_at("2E", size)

    @rule(size=BORES)
    def next_at_3e(self, size: str) -> None:
        self.next_at("3E", size)

    @rule(first=BORES, other=BORES)
    def two_steps_at_both(self, first: str, other: str) -> None:
        for label, size in (("2E", first), ("3E", other)) * 2:
            self.next_at(label, size)

    def next_at(self, label: str, size: str) -> None:
        """As a machinist would go on who knows the way."""
        port, job = self.floor.ports[label], self.floor.job.id
        [stands] = self.rows(STANDS, port=port.id)
        rings, setting, opened_, proved, held, ring_in, finished, signed = stands
        if self.rows("SELECT 1 FROM job WHERE id = :job AND ended_as IS NOT NULL", job=job):
            # It is over: whatever somebody still thinks of is refused.
            self.take_out(label)
            self.strike(int(size[-1]))
        elif signed:
            self.out_of_the_door()
        elif not rings:
            self.tried("read rings", self.floor.read_rings)
        elif held:
            way = Way.DEVIATION if proved else Way.READ_AGAIN
            if not self.take_way(label, way):
                with self.by_the_owner():
                    self.take_way(label, way)
        elif ring_in:
            if not finished or not self.sign_ports([port]):
                self.finish_all()
                if not self.sign_ports([port]):
                    self.take_out(label)
        elif proved:
            if not self.press(label, ("2E", "3E").index(label), ""):
                self.gauge(label, size)
                self.prove(label, False)
        elif setting:
            self.bore(label, size)
        else:
            self.make_setting(("2E", "3E") if not opened_ else (label,))

    @contextmanager
    def by_the_owner(self) -> Iterator[None]:
        """Somebody else for a moment: what only the owner may."""
        who, self.hands.person = self.hands.person, self.floor.cast.owner
        yield
        self.hands.person = who

    def bore(self, label: str, size: str) -> None:
        """Set and read back, clamped up, cut, gauged, proved; a first pass corrects the setting."""
        setting = self.setting(0)
        if setting is None:
            return
        self.tried("set a cutter", lambda: self.hands.set_to(setting))
        if self.one("SELECT max(id) FROM clamp_up") is None:
            self.tried("clamped up", self.floor.clamp)
        if setting.under_by.nm:
            self.cut(label, 0, True, "1.6205")
            self.tried("setting: correct", lambda: self.hands.correct(setting, "1.6205", 0))
            self.tried("set a cutter", lambda: self.hands.set_to(setting))
        self.cut(label, 0, True, size)
        self.prove(label, False)

    def finish_all(self) -> None:
        worked_on = [label for label in self.floor.ports if label != "4E"]
        figures = {label: [".060", ".001", "1.852"] for label in worked_on}
        self.tried("finished", lambda: self.hands.finish(self.floor.head, figures))

    @precondition(lambda self: self.has("signature"))
    @rule()
    def out_of_the_door(self) -> None:
        """Everything signed that is not, parts counted, and handed over."""
        floor, hands = self.floor, self.hands
        signed = {row[0] for row in self.rows("SELECT port_id FROM signature_port")}
        rest = [port for label, port in floor.ports.items() if label != "4E"]
        left = [port for port in rest if port.id not in signed]
        if left and not self.sign_ports(left):
            self.finish_all()
            if not self.sign_ports(left):
                return
        # Too early twice: nobody leaves before parts are counted and the head was tested.
        self.leave()
        for way in ("in", "out"):
            self.tried("counted", lambda way=way: hands.count(floor.job, way))  # type: ignore[misc]
        self.leave()
        self.inspect(InspectionKind.PRESSURE_AFTER, Outcome.OK)
        self.leave()

    def leave(self) -> None:
        hands = self.hands
        who, hands.person = hands.person, self.floor.cast.service_writer
        if self.tried("handed over", lambda: hands.hand_over(self.floor.job, "Fern")):
            self.right("signature", WRONG_HAND_OVERS)
        hands.person = who

    @precondition(lambda self: self.has("cut"))
    @rule(label=RINGED)
    def not_cut(self, label: str) -> None:
        def act() -> None:
            with self.hands.writing() as tx:
                say_not_cut(tx, self.floor.ports[label])

        self.tried("not cut", act)

    @precondition(lambda self: self.has("cut"))
    @rule(label=RINGED, size=BORES)
    def gauge_again(self, label: str, size: str) -> None:
        self.gauge(label, size)

    def gauge(self, label: str, size: str) -> None:
        port = self.floor.ports[label]
        self.tried("gauged", lambda: self.hands.gauge(port, [size, size, ".2501"]))

    @precondition(lambda self: self.has("cut"))
    @rule(label=RINGED, edge_is_known=st.booleans())
    def prove(self, label: str, edge_is_known: bool) -> None:
        port = self.floor.ports[label]
        self.tried("proved", lambda: self.hands.prove(port, edge_is_known))

    @rule(label=ANYWHERE, rarely=ANY)
    def stop(self, label: str, rarely: int) -> None:
        if rarely % 4 == 0:
            self.stop_at(label)

    def stop_at(self, label: str) -> None:
        def act() -> None:
            with self.hands.writing() as tx:
                stop_position(tx, self.floor.ports[label], "chatter")

        self.tried("stopped", act)

    @precondition(lambda self: self.has("hold"))
    @rule(label=ANYWHERE, way=st.sampled_from([w for w in Way if w is not Way.SCRAP]))
    def go_on(self, label: str, way: Way) -> None:
        self.take_way(label, way)

    def take_way(self, label: str, way: Way) -> bool:
        port, fields = self.floor.ports[label], {"ring": "2", "decided_by": "Fern"}
        fields |= {"customer_told": "yes", "value": ".0050", "limit": ".0050"}
        return self.tried("way out", lambda: self.hands.way_out(port, way, "as it is", **fields))

    @precondition(lambda self: self.has("verification"))
    @rule(label=RINGED, which=ANY, reads=st.sampled_from(["", "1.6262", "1.6261", "1.6240"]))
    def press_any(self, label: str, which: int, reads: str) -> None:
        self.press(label, which, reads)

    def press(self, label: str, which: int, reads: str) -> bool:
        rings = self.hands.rings_of(self.floor.ring_set) if self.rows("SELECT id FROM ring") else []
        if not rings:
            return False
        ring = rings[which % len(rings)]
        port = self.floor.ports[label]
        fields = {"od_check": reads} if reads else {}
        done = self.tried("pressed", lambda: self.hands.press(port, ring, **fields))
        if done:
            self.right("ring_in", WRONG_RINGS)
        return done

    @precondition(lambda self: self.has("ring_in"))
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
        self.sign_ports([self.floor.ports[label] for label in labels])

    def sign_ports(self, ports: list[Port]) -> bool:
        done = self.tried("signed", lambda: self.hands.sign(self.floor.job, ports))
        if done:
            self.right("signature", WRONG_SIGNATURES)
        return done

    # What is looked at from outside

    @invariant()
    def one_of_each(self) -> None:
        if hasattr(self, "floor"):
            assert self.rows(ONE_OF_EACH) == []
            self.remember()

    def right(self, table: str, wrong: dict[str, str]) -> None:
        """Nothing about the newest row of a table is as it must not be."""
        newest = self.one(f"SELECT max(id) FROM {table}")
        for what, statement in wrong.items():
            assert not self.rows(statement, id=newest), f"{table} {newest}: {what}"

    def remember(self) -> None:
        """Every row that is to stay as it is, as it was first seen."""
        [newest] = self.rows(NEWEST)
        for (name, seen), now in zip(self.seen.items(), newest, strict=True):
            last = max(seen, default=0)
            if (now or 0) > last:
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

    def has(self, name: str) -> bool:
        """Whether there is a row of a table at all: what comes of it is worth trying."""
        return bool(self.seen.get(name) or self.rows(f"SELECT 1 FROM {name} LIMIT 1"))

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
