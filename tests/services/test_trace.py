"""Tracing: what a lot, a cutter, a gauge and a rule touched."""

from __future__ import annotations

import pytest
from sqlmodel import col, select

from app.calc.units import Length
from app.db import Database
from app.models.crib import Cutter, Instrument
from app.models.port_pass import Cut, PortPass
from app.models.reading import Reading, ReadingSet
from app.models.result import NoLongerStands, Result
from app.models.ring import RingSet
from app.models.setting import Setting
from app.queries.trace import TraceOf, trace
from app.services.write import Write
from app.workflow.kinds import InstrumentKind, ReadingKind, Unit
from tests.services.conftest import Writing
from tests.services.floor import Done, Floor


@pytest.fixture
def stage() -> Done:
    return Floor.ringed


def test_a_lot_a_cutter_and_a_rule_lead_to_the_positions_they_touched(
    floor: Floor, writing: Writing
) -> None:
    with writing() as tx:
        session = tx.session
        for ring_set in session.exec(select(RingSet)):
            ring_set.lot = "QX-1"
        session.flush()
        cut = set(session.exec(select(Cut.port_pass_id)))
        rules = set(session.exec(select(PortPass.rule_source)))
        setting = session.exec(select(Setting).order_by(col(Setting.id).desc())).first()
        assert setting is not None
        for of, which in (
            (TraceOf.LOT, "QX-1"),
            (TraceOf.CUTTER, str(setting.cutter_id)),
            *((TraceOf.RULE, rule) for rule in rules),
        ):
            found = trace(session, of, which, None)
            assert found is not None
            assert {each.pass_id for each in found.touched} & cut
        none = trace(session, TraceOf.LOT, "QX-2", None)
        assert none is not None
        assert none.touched == ()


def test_a_gauge_leads_to_what_it_read_marked_where_it_no_longer_stands(
    floor: Floor, writing: Writing
) -> None:
    with writing() as tx:
        session = tx.session
        result = session.exec(select(Result).where(col(Result.port_pass_id).is_not(None))).first()
        assert result is not None
        assert result.port_pass_id is not None
        gauge = _read_once_more(tx, result.port_pass_id)
        session.add(
            NoLongerStands(
                result_id=result.id, because="it was off", redo="again", by_id=tx.by_id, at=tx.at
            )
        )
        session.flush()
        found = trace(session, TraceOf.DOUBT, str(gauge.id), None)
        assert found is not None
        assert found.name == gauge.name
        because = {each.pass_id: each.because for each in found.touched}
        assert because == {result.port_pass_id: "it was off"}


def _read_once_more(tx: Write, pass_id: int) -> Instrument:
    """A bore of this pass, read with a gauge that read nothing else."""
    gauge = tx.add(
        Instrument(
            name="Bore gauge 9", kind=InstrumentKind.BORE, unit=Unit.INCH, division=Length(2540)
        )
    )
    kept = tx.session.exec(select(Reading).order_by(col(Reading.id))).first()
    assert kept is not None
    own = tx.add(
        ReadingSet(
            kind=ReadingKind.BORE,
            port_pass_id=pass_id,
            with_instrument_id=gauge.id,
            by_id=tx.by_id,
            at=tx.at,
        )
    )
    again = kept.model_dump(exclude={"id"}) | {
        "reading_set_id": own.id,
        "value": kept.value,
        "client_key": "once more",
    }
    tx.add(Reading(**again))
    return gauge


def test_what_is_not_there_is_not_traced(floor: Floor, database: Database) -> None:
    with database.read() as session:
        assert session.exec(select(Cutter)).first() is not None
        for of in (TraceOf.CUTTER, TraceOf.TIP, TraceOf.PILOT, TraceOf.INSTRUMENT):
            assert trace(session, of, "99999", None) is None
            assert trace(session, of, "x", None) is None
