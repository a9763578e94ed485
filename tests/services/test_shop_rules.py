"""Shop rules and interference rules: versions, refusals, and what a change unsettles."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import event
from sqlmodel import col, select

from app.calc.units import Length
from app.db import Database
from app.models.event import Event
from app.models.person import Person
from app.models.result import NoLongerStands, Result
from app.models.shop import InterferenceRule, ShopRule
from app.queries.shop_rules import current_rules, rule_history
from app.services.interference_rules import retire_interference_rule, set_interference_rule
from app.services.shop_rules import set_rule
from app.services.write import NotFound, Refused, Write
from app.workflow.kinds import ResultKind
from app.workflow.words import Material
from app.worksheets.interference import rule_for
from tests.services.bench_rows import AT, head_row, job_row, pass_row, position_row, ring_set_row
from tests.services.conftest import Cast, Writing

IRON = Material.GREY_IRON
OD = Length.of("1.6262")


def test_a_rule_set_is_a_new_version_and_the_newest_holds(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        set_rule(tx, "least_cut", ".0015 in", "Olive, after chatter")
        set_rule(tx, "least_cut", ".0012", "Olive, again")
    with database.read() as session:
        rules = current_rules(session)
        assert rules.length("least_cut") == Length.of(".0012")
        assert rules.source("least_cut") == "Olive, again"
        assert [version.shown for version in rule_history(session, "least_cut")] == [
            ".0012 in",
            ".0015 in",
        ]
        assert rules.length("least_web") == Length.of(".060")


def test_the_log_says_from_what_to_what_and_names_nobody(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        set_rule(tx, "least_cut", ".0015 in", "Olive said so")
        set_rule(tx, "warranty_text", "Ask for Olive, 555 0100.", "the shop")
    with database.read() as session:
        figures, text = session.exec(select(Event.body).order_by(col(Event.id))).all()
    assert json.loads(figures) == {"key": "least_cut", "new": ".0015 in", "old": ".0010 in"}
    assert json.loads(text) == {"key": "warranty_text"}


def test_all_rules_are_read_in_one_statement(database: Database, cast: Cast) -> None:
    asked: list[str] = []
    with database.read() as session:
        session.exec(select(Person.id)).all()
        event.listen(database.engine, "before_cursor_execute", lambda *a: asked.append(a[2]))
        current_rules(session)
    assert len(asked) == 1


@pytest.mark.parametrize(
    ("value", "source", "field"),
    [("1 in", "Olive", "value"), ("abc", "Olive", "value"), (".0015", "  ", "source")],
)
def test_a_refused_value_leaves_the_rule_as_it_was(
    database: Database, writing: Writing, value: str, source: str, field: str
) -> None:
    with pytest.raises(Refused) as no, writing() as tx:
        set_rule(tx, "least_cut", value, source)
    assert no.value.field == field
    with database.read() as session:
        assert session.exec(select(ShopRule)).first() is None


def test_a_rule_that_does_not_exist_is_not_found(writing: Writing) -> None:
    with pytest.raises(NotFound), writing() as tx:
        set_rule(tx, "least_coffee", "1", "Olive")


def test_a_page_opened_before_another_change_does_not_overwrite_it(writing: Writing) -> None:
    with writing() as tx:
        set_rule(tx, "least_cut", ".0015 in", "Olive", seen=".0010 in")
    with pytest.raises(Refused, match="changed while the page was open"), writing() as tx:
        set_rule(tx, "least_cut", ".0008 in", "Max", seen=".0010 in")


def test_the_defaults_hold_until_the_shop_makes_a_band_its_own(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with database.read() as session:
        least, aim, most, source = rule_for(session, IRON, OD)
    assert (least, aim, most) == (Length.of(".003"), Length.of(".004"), Length.of(".005"))
    assert "common practice" in source
    with writing(by=cast.owner) as tx:
        own = _band(tx, "1.25", "2.0", ".0032")
    with database.read() as session:
        assert rule_for(session, IRON, OD).least == Length.of(".0032")
        assert rule_for(session, IRON, OD).source == (
            "grey iron, ring OD 1.25 up to 2.00 in: Olive's table"
        )
        assert rule_for(session, IRON, Length.of("1.0")).least == Length.of(".002")
        assert rule_for(session, Material.DUCTILE_IRON, OD).least == Length.of(".003")
    with writing(by=cast.owner) as tx:
        retire_interference_rule(tx, own.id, "back to common practice")
    with database.read() as session:
        assert rule_for(session, IRON, OD).least == Length.of(".003")


def test_where_two_bands_overlap_the_newer_holds(database: Database, writing: Writing) -> None:
    with writing() as tx:
        _band(tx, "1.5", "1.7", ".0033")
        _band(tx, "1.6", "1.65", ".0034")
    with database.read() as session:
        assert rule_for(session, IRON, OD).least == Length.of(".0034")
        assert rule_for(session, IRON, Length.of("1.65")).least == Length.of(".0033")


def test_a_window_out_of_order_is_refused(writing: Writing) -> None:
    with pytest.raises(Refused), writing() as tx:
        _band(tx, "1.25", "2.0", ".0045")
    with pytest.raises(Refused), writing() as tx:
        _band(tx, "2.0", "1.25", ".0030")


def test_a_changed_band_unsettles_targets_that_wait_and_leaves_other_sizes_alone(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing() as tx:
        inside = _accepted_target(tx, "1.62220")
        outside = _accepted_target(tx, "2.30000", seq=2)
        _band(tx, "1.25", "2.0", ".0032")
    with database.read() as session:
        marked = session.exec(select(NoLongerStands.result_id, NoLongerStands.because)).all()
    assert [result_id for result_id, _ in marked] == [inside]
    assert "interference rule was changed" in marked[0][1]
    assert outside != inside


def test_a_pass_with_the_same_window_is_not_unsettled(database: Database, writing: Writing) -> None:
    with writing() as tx:
        _accepted_target(tx, "1.62220")
        _band(tx, "1.25", "2.0", ".0030")
    with database.read() as session:
        assert session.exec(select(NoLongerStands)).first() is None


def _band(tx: Write, low: str, below: str, least: str) -> InterferenceRule:
    return set_interference_rule(
        tx,
        material=IRON,
        od_from=Length.of(low),
        od_below=Length.of(below),
        least=Length.of(least),
        aim=Length.of(".0040"),
        most=Length.of(".0050"),
        source="Olive's table",
    )


def _accepted_target(tx: Write, bore: str, seq: int = 1) -> int:
    job = job_row(tx, seq)
    head = head_row(tx, job)
    rings = ring_set_row(tx, job)
    port = position_row(tx, head)
    tried = pass_row(tx, port, rings, bore)
    result = tx.add(
        Result(
            by_id=tx.by_id,
            at=AT,
            kind=ResultKind.TARGET,
            port_id=port.id,
            port_pass_id=tried.id,
            calculation="target",
            version=1,
            record="{}",
            sha256="0" * 64,
        )
    )
    return result.id
