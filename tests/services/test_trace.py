"""Tracing: what a lot, a cutter, a gauge and a rule touched."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from sqlmodel import Session, col, select

from app.calc.rules import DEFAULT_RULES, Rule
from app.calc.units import Length
from app.db import Database
from app.models.crib import Cutter, Instrument
from app.models.port_pass import Cut, PortPass, RingIn
from app.models.reading import Reading, ReadingSet
from app.models.result import NoLongerStands, Result
from app.models.ring import RingSet
from app.models.setting import Setting
from app.models.shop import InterferenceRule, ShopRule
from app.queries.trace import TraceOf, trace
from app.services.write import Write
from app.workflow.kinds import InstrumentKind, ReadingKind, Unit
from app.workflow.words import Material
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


def test_a_gauge_that_read_a_ring_leads_to_where_the_ring_went_in(
    floor: Floor, writing: Writing, monkeypatch: pytest.MonkeyPatch
) -> None:
    with writing() as tx:
        pressed = tx.session.exec(select(RingIn).order_by(col(RingIn.id))).first()
        assert pressed is not None
        gauge = _read_once_more(tx, kind=ReadingKind.RING, ring_id=pressed.ring_id)
        found = trace(tx.session, TraceOf.INSTRUMENT, str(gauge.id), None)
        assert found is not None
        assert {each.pass_id for each in found.touched} == {pressed.port_pass_id}
        # A page ends its looking; the next goes on behind what was looked at.
        monkeypatch.setattr("app.queries.trace.SETS_AT_ONCE", 1)
        monkeypatch.setattr("app.queries.trace.MOST_LOOKS", 1)
        found = trace(tx.session, TraceOf.INSTRUMENT, str(gauge.id), None)
        assert found is not None
        assert found.next_after is not None
        last = trace(tx.session, TraceOf.INSTRUMENT, str(gauge.id), found.next_after)
        assert last is not None
        assert (last.touched, last.next_after) == ((), None)


def _read_once_more(
    tx: Write, pass_id: int | None = None, kind: ReadingKind = ReadingKind.BORE, **subject: int
) -> Instrument:
    """A bore of this pass or another subject, read with a gauge that read nothing else."""
    gauge = tx.add(
        Instrument(
            name="Bore gauge 9", kind=InstrumentKind.BORE, unit=Unit.INCH, division=Length(2540)
        )
    )
    kept = tx.session.exec(select(Reading).order_by(col(Reading.id))).first()
    assert kept is not None
    own = tx.add(
        ReadingSet(
            kind=kind,
            port_pass_id=pass_id,
            **subject,
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


def test_each_version_of_a_rule_leads_to_what_was_worked_by_it(
    floor: Floor, writing: Writing
) -> None:
    with writing() as tx:
        session = tx.session
        one = session.exec(select(PortPass)).first()
        assert one is not None
        found = {
            nth: _touched(session, TraceOf.DEFAULT_WINDOW, nth + 1)
            for nth in range(len(DEFAULT_RULES))
        }
        [(nth, by_default)] = [(nth, passes) for nth, passes in found.items() if one.id in passes]
        rule = DEFAULT_RULES[nth]
        of_source = trace(session, TraceOf.RULE, one.rule_source, None)
        assert of_source is not None
        assert by_default == {each.pass_id for each in of_source.touched}
        own = _window(tx, rule, one.rule_aim)
        assert _touched(session, TraceOf.WINDOW, own.id) == by_default
        other = _window(tx, rule, one.rule_aim + Length(2540))
        assert _touched(session, TraceOf.WINDOW, other.id) == set()


def test_a_version_of_a_shop_rule_leads_to_what_was_worked_on_while_it_held(
    floor: Floor, writing: Writing
) -> None:
    with writing() as tx:
        session = tx.session
        passes = set(session.exec(select(PortPass.id)))
        opened = min(session.exec(select(PortPass.opened_at)))
        before = tx.add(_rule(tx, opened - timedelta(days=2)))
        tx.add(_rule(tx, opened - timedelta(days=1)))
        then = tx.add(_rule(tx, opened - timedelta(hours=1)))
        assert _touched(session, TraceOf.SHOP_RULE, before.id) == set()
        assert _touched(session, TraceOf.SHOP_RULE, then.id) == passes


def _touched(session: Session, of: TraceOf, which: int) -> set[int]:
    found = trace(session, of, str(which), None)
    assert found is not None
    return {each.pass_id for each in found.touched}


def _rule(tx: Write, at: datetime) -> ShopRule:
    return ShopRule(key="least_cut", value=".002", source="the owner", by_id=tx.by_id, at=at)


def _window(tx: Write, rule: Rule, aim: Length) -> InterferenceRule:
    fit = rule.interference
    return tx.add(
        InterferenceRule(
            material=Material(rule.material.value),
            od_from=rule.od_from,
            od_below=rule.od_below,
            least=fit.least,
            aim=aim,
            most=fit.most,
            source=rule.source,
            by_id=tx.by_id,
            at=tx.at,
        )
    )


def test_what_is_not_there_is_not_traced(floor: Floor, database: Database) -> None:
    with database.read() as session:
        assert session.exec(select(Cutter)).first() is not None
        for of in set(TraceOf) - {TraceOf.LOT, TraceOf.RULE}:
            assert trace(session, of, "99999", None) is None
            assert trace(session, of, "x", None) is None
