"""A shop with a row in every table and what nobody would type in every text that people type."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlmodel import AutoString, Session, col, select

from app.calc.units import Length
from app.db import Database, Nanometres, Utc, Worded, metadata, now
from app.models.crib import Cutter, Fixture, Instrument, Machine, Pilot
from app.models.customer import Customer
from app.models.head import Port
from app.models.inspection import DeckCut
from app.models.job import Note, PriceLine, WantedRing
from app.models.material import ShopMaterial
from app.models.person import Person
from app.models.photo import Photo
from app.models.port_pass import OvercutSample
from app.models.price_item import PriceItem
from app.models.reading import Reading
from app.models.ring import Ring, RingSet
from app.models.ring_size import RingSize
from app.models.setting import Setting
from app.models.sheet import Sheet
from app.models.shop import InterferenceRule
from app.pictures import keep_picture
from app.web.routes.figures import FIGURES
from app.workflow.shop_rules import RULES
from seed_demo.hands import Hands
from seed_demo.shop import fit_out
from tests.test_pictures import encoded
from tests.web.bench import Bench

MARK = "q7z"
TYPED = f"={MARK}\"'><img src=x onerror=alert(7)>{{{{7*7}}}}"
# Never typed by anyone: written by the program, or read as a number, a time or one of a few words
# before it is kept.
OURS = frozenset(
    {
        *("consent.how", "customer.phone_digits", "job.number", "number_series.series"),
        *("event.body", "event.client_key", "event.hash", "event.prev", "event.request_sha256"),
        *("event.subject", "event.verb", "job_words.words", "search_key.key"),
        *("head.layout", "head.cylinders", "port.label", "port.cylinder", "head.alloy"),
        *("person.pin_hash", "sign_in.token_hash", "shop.zone", "shop.currency"),
        *("photo.sha256", "photo.small_sha256", "sheet.html", "sheet.data", "sheet.sha256"),
        *("sheet.style_sha256", "sheet.log_head", "result.calculation", "result.record"),
        *("result.sha256", "reading.client_key", "reading.place", "inspection_figure.place"),
        *("inspection_figure.unit", "not_done.requirement", "setting_adjustment.why"),
        *("shop_rule.key", "shop_rule.value", "heat_case.key", "price_item.key"),
        *("shop_material.key", "shop_material.family", "shop_material.mean_expansions"),
        *("clamp_up.datum", "price_item.proposed_by", "shop.base_address"),
    }
)
_TEXTS = {"mean_expansions": "[]", "proposed_by": "", "key": "p1"}
_SIZES = {"od_from": "1", "od_below": "2", "least": ".003", "aim": ".004", "most": ".005"}
# Of what a row may be about, one thing only; and rows that are about another row of their own.
_LEFT_EMPTY = re.compile(r"^(reading_set|search_key|job)\.|\.(replaces_id|head_decision_id)$")


@dataclass(frozen=True)
class Whole:
    """The shop, and an address of each route that leads to something in it."""

    database: Database
    known: dict[str, str]

    def address(self, route: str) -> str:
        """A path of the route table, filled in."""
        path = route.partition(" ")[2]
        for part in re.findall(r"\{(\w+)\}", path):
            before, _, after = path.partition(f"{{{part}}}")
            # Most tables have a first row.
            own = self.known.get(f"{part} in {before}") or self.known.get(part, "1")
            path = f"{before}{own}{after}"
        return path


def whole_shop(bench: Bench, photos: Path) -> Whole:
    """Fill up what the bench's shop lacks, by hand where pages need it to fit together."""
    database = bench.database
    with database.read() as session:
        people = {each.name: each for each in session.exec(select(Person))}
    with database.write() as session:
        # Beside the bench's few tools comes a whole crib, which has its own by these names.
        for table in (Machine, Cutter, Fixture, Pilot):
            session.execute(sa.update(table).values(name=col(table.name) + " of the bench"))
    since = now() - timedelta(days=7)
    fit_out(
        Hands(database, people["Odile"], since),
        since,
        *(people[name] for name in ("Odile", "Marek", "Wilma")),
    )
    picture = keep_picture(encoded(), photos)
    with database.write() as session:
        connection = session.connection()
        triggers = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        for (name,) in connection.execute(sa.text(triggers)).all():
            connection.execute(sa.text(f'DROP TRIGGER "{name}"'))
        _fill(connection)
        for nth, (table_of, column) in enumerate(typed_columns()):
            connection.execute(_spoiled(table_of, column, nth))
        connection.execute(
            sa.text("UPDATE photo SET sha256 = :s, small_sha256 = :t"),
            {"s": picture.sha256, "t": picture.small_sha256},
        )
    with database.read() as session:
        return Whole(database, dict(_known(session, bench)))


def typed_columns() -> Iterator[tuple[sa.Table, sa.Column[Any]]]:
    """Every text column that someone types into."""
    for table in metadata.sorted_tables:
        for column in table.columns:
            is_text = isinstance(column.type, sa.String | AutoString) and not column.foreign_keys
            if is_text and f"{table.name}.{column.name}" not in OURS:
                yield table, column


def _spoiled(table: sa.Table, column: sa.Column[Any], nth: int) -> sa.Update:
    text: Any = f"{TYPED}~{nth}~"
    if any(column.name in each.columns for each in _unique(table)):
        text = sa.literal(text) + sa.cast(table.c.id, sa.String)
    return sa.update(table).values({column.name: text})


def _unique(table: sa.Table) -> list[sa.UniqueConstraint]:
    return [each for each in table.constraints if isinstance(each, sa.UniqueConstraint)]


def _fill(connection: sa.Connection) -> None:
    """One row in each table that has none, about the newest row of whatever it is about."""
    newest: dict[str, int] = {}
    for table in metadata.sorted_tables:
        found = connection.execute(sa.select(sa.func.max(table.c.id))).scalar()
        if found is None:
            row = {
                column.name: _value(column, newest)
                for column in table.columns
                if not column.primary_key
            }
            connection.execute(sa.insert(table), row)
            found = connection.execute(sa.select(sa.func.max(table.c.id))).scalar_one()
        newest[table.name] = found


def _value(column: sa.Column[Any], newest: dict[str, int]) -> Any:
    where = f"{column.table.name}.{column.name}"
    if column.foreign_keys:
        [reference] = column.foreign_keys
        target = reference.column.table.name
        if column.nullable and (target == column.table.name or _LEFT_EMPTY.search(where)):
            return None
        return newest[target]
    match column.type:
        case Worded():
            return next(iter(column.type.words))
        case Nanometres():
            return Length.of(_SIZES.get(column.name, "1.6250"))
        case Utc():
            return None if column.nullable else now()
        case sa.Boolean():
            return False
        case sa.Date():
            return None if column.nullable else now().date()
        case sa.Float():
            return 1.0
        case sa.Integer():
            return 1
        case sa.String() | AutoString():
            return "0" * 64 if column.name.endswith("sha256") else _TEXTS.get(column.name, "a")
    return None


def _known(session: Session, bench: Bench) -> Iterator[tuple[str, str]]:
    """What stands for each part of an address."""
    job = bench.job
    yield "number", job.number
    own: dict[str, Any] = {
        "head_id": bench.head.id,
        "port_id": bench.ports["2E"].id,
        "ring_set_id": session.exec(select(Port.ring_set_id).where(Port.label == "2E")).first(),
    }
    for name, table in {
        "customer_id": Customer,
        "setting_id": Setting,
        "line_id": PriceLine,
        "photo_id": Photo,
        "note_id": Note,
        "reading_id": Reading,
        "deck_cut_id": DeckCut,
        "sheet_id": Sheet,
        "cutter_id": Cutter,
        "sample_id": OvercutSample,
        "fixture_id": Fixture,
        "instrument_id": Instrument,
        "machine_id": Machine,
        "pilot_id": Pilot,
        "tool_id": Pilot,
        "size_id": RingSize,
        "wanted_id": WantedRing,
        "rule_id": InterferenceRule,
        "ring_id": Ring,
    }.items():
        own[name] = session.exec(select(table.id).order_by(col(table.id))).first()  # type: ignore[attr-defined]
    own["person_id"] = session.exec(
        select(Person.id).where(col(Person.name).like(f"%{MARK}%"), col(Person.id) > 1)
    ).first()
    box = session.exec(select(RingSet.id).where(col(RingSet.job_id).is_(None))).first()
    yield "box_id", str(box)
    yield "ring_set_id in /shelf/", str(box)
    yield "noun", "pilots"
    yield "key in /price-list/", session.exec(select(PriceItem.key)).first() or ""
    yield "key in /materials/", session.exec(select(ShopMaterial.key)).first() or ""
    yield "key in /shop-rules/", next(iter(RULES))
    yield "key in /lists/", "counter"
    yield "key in /figures/", next(iter(FIGURES))
    yield from (("metal", "aluminium"), ("kind", "E"), ("key", "p1"))
    yield from ((name, str(found)) for name, found in own.items())
