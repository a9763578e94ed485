"""The grid of valves and springs: what becomes of each valve, and what follows from its figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from markupsafe import Markup

from app.calc.seat_valve import ValveContact
from app.db import Database
from app.forms.readings import GridForm
from app.forms.valves import ValvesForm
from app.queries.grids import GridView
from app.web.head_grids import HeadGrid, Section
from app.workflow.grids import OF_THE_BOOK, VALVE_CONTACT, VALVES, Column
from app.workflow.kinds import Quantity, ReadingKind, ValveState
from app.workflow.permissions import Verb
from app.workflow.words import Kind, listed
from app.worksheets.cells import Bound
from app.worksheets.contacts import wanted_contact
from app.worksheets.facts import HeadSheet
from app.worksheets.finished_seats import length_bound
from app.worksheets.head_rows import PortRows
from app.worksheets.seat_plans import newest_plans
from app.worksheets.valves import ValveRow, valve_row

CONTACT = "contact"


class Valves(HeadGrid):
    """Valve gear, or (`of=contact`) where the contact lies on each valve's face."""

    path: ClassVar[str] = "valves"
    title: ClassVar[str] = "Valves and springs"
    kind: ClassVar[ReadingKind] = ReadingKind.VALVES
    verb: ClassVar[Verb] = Verb.FINISH_SEAT
    onward: ClassVar[tuple[str, str]] = ("Next: sign", "")
    template: ClassVar[str] = "grids/valves.html"
    head_columns: ClassVar[tuple[Column, ...]] = OF_THE_BOOK
    needs_whole_head: ClassVar[bool] = True
    said_template: ClassVar[str] = "grids/_valves_said.html"
    turned: int = 0  # more columns than stand beside the map

    def __init__(
        self, asked: Mapping[str, str], db: Database, judged: ValvesForm | None = None
    ) -> None:
        super().__init__(asked)
        self._db = db
        self.judged = judged
        self.sent: GridForm | None = None
        self.is_contact = asked.get("of") == CONTACT
        self._rows: dict[int, ValveRow] = {}
        self._wanted: dict[Kind, ValveContact | None] | None = None

    def here(self, head_id: int) -> str:
        return f"/heads/{head_id}/valves{f'?of={CONTACT}' if self.is_contact else ''}"

    def sections(self, ports: Sequence[PortRows]) -> list[Section]:
        columns = VALVE_CONTACT if self.is_contact else VALVES
        return [Section(columns, tuple(ports), worked="what follows")] if ports else []

    def beside(self, view: GridView, rows: PortRows) -> tuple[str, str]:
        row = self._row(view, rows)
        asked = [Markup("<b>{}</b>").format(words) for words in row.asks]
        follows = row.contact if self.is_contact else (*row.moved, *row.follows)
        return Markup("\n").join([*asked, *follows]), ""

    def bounds(self, sheet: HeadSheet, rows: PortRows) -> Mapping[Quantity, Bound]:
        found = length_bound(rows, sheet.rows.job.job.unit)
        return {Quantity.VALVE_LENGTH: found} if found else {}

    def way(self, rows: PortRows) -> tuple[str, str, str] | None:
        """What is cut to move a contact."""
        if not self.is_contact:
            return None
        return ("work out", "cuts", f"/positions/{rows.port.id}/seat")

    def more(self, view: GridView) -> dict[str, Any]:
        ports = view.sheet.rows.ports
        now = {
            rows.port.id: rows.valve_fate.state.value if rows.valve_fate else "" for rows in ports
        }
        had, said = dict(now), dict(now)
        if self.judged is not None and self.sent is not None and self.sent.errors:
            # The page comes back as it was sent; only a word that was just named here is seen.
            for port_id, state in self.judged.had.items():
                if f"valve_{port_id}" not in self.sent.errors:
                    had[port_id] = state.value if state else ""
            said |= {port_id: state.value for port_id, state in self.judged.said.items()}
        rows = [self._row(view, each) for each in ports]
        return {
            "had_states": had,
            "states": said,
            "state_words": list(ValveState),
            "is_contact": self.is_contact,
            "cautions": [view.rules.caution("sodium_valve")],
            "worked_rows": [row for row in rows if row.workings],
            "missing": listed([row.label for row in rows if row.state is ValveState.MISSING]),
            "limits": _limits(view),
            "wanted": [
                (kind.screen, one.width.shown(view.unit), one.clear_outside.shown(view.unit))
                for kind, one in self._contacts(view).items()
                if one is not None
            ],
        }

    def next_href(self, view: GridView) -> str:
        return f"/jobs/{view.job.number}/sign"

    def _row(self, view: GridView, rows: PortRows) -> ValveRow:
        found = self._rows.get(rows.port.id)
        if found is None:
            wanted = self._contacts(view).get(rows.port.kind)
            found = valve_row(rows, self.of_head, wanted, view.rules, view.unit)
            self._rows[rows.port.id] = found
        return found

    def _contacts(self, view: GridView) -> dict[Kind, ValveContact | None]:
        """Where contacts are wanted on this head, kind by kind."""
        if self._wanted is None:
            with self._db.read() as session:
                plans = newest_plans(session, [view.head.id])[view.head.id]
            self._wanted = {kind: wanted_contact(plans.get(kind), view.unit) for kind in Kind}
        return self._wanted


def _limits(view: GridView) -> dict[str, str]:
    """The shop's figures as the page says them."""
    keys = (
        *("face_run_out_limit", "tip_grind_limit", "shim_stack_limit", "contact_clear"),
        *("spring_within", *(f"valve_margin_{kind.screen}" for kind in Kind)),
    )
    return {key: view.rules.length(key).shown(view.unit) for key in keys}
