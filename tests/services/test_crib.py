"""The crib: names, versions, retiring, and what a changed tool unsettles."""

from __future__ import annotations

from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import event
from sqlmodel import col, select

from app.calc.units import Length
from app.db import Database
from app.forms.crib import (
    CheckForm,
    CutterForm,
    FixtureForm,
    InstrumentForm,
    MachineForm,
    PilotForm,
    PilotSizesForm,
)
from app.models.crib import Cutter, Fixture, Instrument, Machine, Pilot
from app.models.event import Event
from app.models.job import Job
from app.models.port_pass import OvercutStrike
from app.models.setting import Setting, SettingAdjustment
from app.queries.crib import crib
from app.queries.tools import show_cutter
from app.services.crib import CHANGED_MEANWHILE, bring_back_tool, retire_tool
from app.services.cutters import change_tip, create_cutter, update_cutter
from app.services.fixtures import create_fixture, update_fixture
from app.services.instruments import check_instrument, create_instrument
from app.services.machines import create_machine, update_machine
from app.services.pilots import create_pilot, measure_pilot, update_pilot
from app.services.write import NotFound, Refused
from app.workflow.kinds import InstrumentKind, SettingState, Unit
from app.workflow.words import FixtureMode, Material
from app.worksheets.overcut import good_cuts
from tests.services.bench_rows import AT, job_row, live_setting_row, overcut_row
from tests.services.conftest import Writing


def test_a_machine_is_added_changed_retired_and_brought_back(
    database: Database, writing: Writing
) -> None:
    with writing() as tx:
        machine = create_machine(tx, machine_form(name="Long bed", travel="8"))
        update_machine(tx, machine.id, machine_form(name="Long bed", travel="7.5"))
        retire_tool(tx, Machine, machine.id, "sold", last_is_known=True)
        bring_back_tool(tx, Machine, machine.id)
    with database.read() as session:
        kept = session.exec(select(Machine)).one()
        assert kept.travel == Length.of("7.5")
        assert kept.retired_at is None
        verbs = session.exec(select(Event.verb).order_by(col(Event.id))).all()
    assert verbs == [
        "added a machine",
        "changed a machine",
        "retired a machine",
        "brought back a machine",
    ]


def test_two_tools_of_a_kind_cannot_have_one_name_whatever_its_case(writing: Writing) -> None:
    with writing() as tx:
        create_cutter(tx, cutter_form(name="Head 2"))
    with pytest.raises(Refused, match="taken by another cutter") as no, writing() as tx:
        create_cutter(tx, cutter_form(name="head 2"))
    assert no.value.field == "name"


def test_a_retired_tool_keeps_its_name(writing: Writing) -> None:
    with writing() as tx:
        cutter = create_cutter(tx, cutter_form(name="Head 2"))
        retire_tool(tx, Cutter, cutter.id, "worn", last_is_known=True)
    with pytest.raises(Refused, match="retired"), writing() as tx:
        create_cutter(tx, cutter_form(name="Head 2"))


@pytest.mark.parametrize(
    ("noun", "told"),
    [
        ("machine", "only machine in use. Without one no head can be clamped up"),
        ("cutter", "only adjustable cutter in use. Without one only the sizes of fixed cutters"),
        ("pilot", "only pilot in use"),
        ("fixture", "only fixture in use. Without one no adjustable cutter can be set"),
    ],
)
def test_the_last_tool_of_its_kind_goes_out_of_use_only_after_a_question(
    writing: Writing, noun: str, told: str
) -> None:
    table, make = {
        "machine": (Machine, lambda tx, name: create_machine(tx, machine_form(name=name))),
        "cutter": (Cutter, lambda tx, name: create_cutter(tx, cutter_form(name=name))),
        "pilot": (Pilot, lambda tx, name: create_pilot(tx, pilot_form(name=name))),
        "fixture": (Fixture, lambda tx, name: create_fixture(tx, fixture_form(name=name))),
    }[noun]
    with writing() as tx:
        first, second = make(tx, "One"), make(tx, "Two")
        retire_tool(tx, table, first.id, "worn")
    with pytest.raises(Refused, match=told) as no, writing() as tx:
        retire_tool(tx, table, second.id, "worn")
    assert no.value.field == "confirm_last"
    with writing() as tx:
        assert retire_tool(tx, table, second.id, "worn", last_is_known=True).retired_at == tx.at


def test_a_fixed_cutter_goes_without_a_question_while_an_adjustable_one_is_there(
    writing: Writing,
) -> None:
    with writing() as tx:
        create_cutter(tx, cutter_form(name="Head 2"))
        fixed = create_cutter(tx, cutter_form(name="1.625", kind="fixed", fixed_size="1.625"))
        retire_tool(tx, Cutter, fixed.id, "worn")


def test_a_stale_page_does_not_overwrite_a_later_change(writing: Writing) -> None:
    with writing() as tx:
        machine = create_machine(tx, machine_form(name="Long bed", travel="8"))
    opened = str(machine.row_version)
    with writing() as tx:
        update_machine(
            tx, machine.id, machine_form(name="Long bed", travel="7", row_version=opened)
        )
    with pytest.raises(Refused) as no, writing() as tx:
        update_machine(
            tx, machine.id, machine_form(name="Long bed", travel="6", row_version=opened)
        )
    assert no.value.message == CHANGED_MEANWHILE


def test_an_unknown_tool_is_not_found(writing: Writing) -> None:
    with pytest.raises(NotFound), writing() as tx:
        retire_tool(tx, Cutter, 77, "worn")


def test_a_new_tip_lapses_the_live_setting_and_starts_the_overcut_afresh(
    database: Database, writing: Writing
) -> None:
    with writing() as tx:
        cutter = create_cutter(tx, cutter_form(name="Head 2"))
        job = job_row(tx)
        setting = live_setting_row(tx, job, cutter.id)
        overcut_row(tx, job, setting, "1.6221")
        assert list(good_cuts(tx.session, cutter.id)) == [Material.GREY_IRON]
        change_tip(tx, cutter.id, "new insert, nose .010")
        assert good_cuts(tx.session, cutter.id) == {}
    with database.read() as session:
        kept = session.exec(select(Setting)).one()
        assert kept.state is SettingState.LAPSED
        assert "new insert" in kept.lapsed_because


def test_a_struck_cut_no_longer_counts(writing: Writing) -> None:
    with writing() as tx:
        cutter = create_cutter(tx, cutter_form(name="Head 2"))
        job = job_row(tx)
        setting = live_setting_row(tx, job, cutter.id)
        overcut_row(tx, job, setting, "1.6221", seq=1)
        struck = overcut_row(tx, job, setting, "1.6290", seq=2)
        tx.add(OvercutStrike(by_id=tx.by_id, at=AT, overcut_sample_id=struck.id, reason="misread"))
        cuts = good_cuts(tx.session, cutter.id)[Material.GREY_IRON]
    assert [cut.measured for cut in cuts] == [Length.of("1.6221")]


def test_cuts_beyond_a_limit_are_marked_in_the_order_they_were_made(writing: Writing) -> None:
    sizes = ["1.6221", "1.6222"] * 4 + ["1.6230"]
    with writing() as tx:
        cutter = create_cutter(tx, cutter_form(name="Head 2"))
        job = job_row(tx)
        setting = live_setting_row(tx, job, cutter.id)
        for seq, size in enumerate(sizes):
            overcut_row(tx, job, setting, size, seq=seq)
    with writing() as tx:
        number = tx.session.get_one(Job, job.id).number
        view = show_cutter(tx.session, tx.session.get_one(Cutter, cutter.id), "in")
        line = crib(tx.session, ZoneInfo("UTC"), date(2026, 3, 2)).cutters[0]
    [record] = view.records
    assert record.now is not None
    cuts = record.now.cuts
    assert [cut.measured for cut in cuts] == [f"{size}0" for size in sizes]
    assert [cut.signs for cut in cuts] == [()] * 8 + [("cut 9 beyond a limit",)]
    assert (cuts[-1].number, cuts[-1].set_size, cuts[-1].overcut) == (number, "1.62180", ".00120")
    assert all(cut.where for cut in cuts)
    assert line.overcut[Material.GREY_IRON].out_of_control == (8,)


def test_the_crib_shows_what_a_cutter_was_read_at_and_what_was_wanted(writing: Writing) -> None:
    with writing() as tx:
        cutter = create_cutter(tx, cutter_form(name="Head 2"))
        setting = live_setting_row(tx, job_row(tx), cutter.id)
        for read in ("1.6220", "1.6216"):
            tx.add(
                SettingAdjustment(
                    by_id=tx.by_id,
                    at=AT,
                    setting_id=setting.id,
                    why="set",
                    achieved=Length.of(read),
                    typed=read,
                    set_size=Length.of(read),
                    expected_bore=Length.of("1.6221"),
                )
            )
    with writing() as tx:
        now = crib(tx.session, ZoneInfo("UTC"), date(2026, 3, 2)).cutters[0].set_at
    assert now is not None
    assert (now.set_size, now.wanted) == (Length.of("1.6216"), Length.of("1.6218"))


def test_a_cutter_that_is_set_is_neither_retired_nor_given_another_size(writing: Writing) -> None:
    with writing() as tx:
        cutter = create_cutter(tx, cutter_form(name="Head 2"))
        live_setting_row(tx, job_row(tx), cutter.id)
    with pytest.raises(Refused, match="set for job 26-0001"), writing() as tx:
        retire_tool(tx, Cutter, cutter.id, "worn")
    with pytest.raises(Refused, match="set for job 26-0001"), writing() as tx:
        update_cutter(tx, cutter.id, cutter_form(name="Head 2", kind="fixed", fixed_size="1.625"))
    with writing() as tx:
        renamed = update_cutter(tx, cutter.id, cutter_form(name="Head 2b"))
        assert renamed.name == "Head 2b"


def test_a_pilot_measured_again_keeps_what_it_was_and_lapses_what_was_set_on_it(
    database: Database, writing: Writing
) -> None:
    with writing() as tx:
        pilot = create_pilot(tx, pilot_form())
        cutter = create_cutter(tx, cutter_form(name="Head 2"))
        live_setting_row(tx, job_row(tx), cutter.id, pilot_id=pilot.id)
        measure_pilot(tx, pilot.id, sizes_form(shank=".3748", day="2026-04-01"))
    with database.read() as session:
        kept = session.exec(select(Pilot)).one()
        assert kept.shank_diameter == Length.of(".3748")
        assert kept.measured_on == date(2026, 4, 1)
        body = session.exec(select(Event.body).where(Event.verb == "measured a pilot")).one()
        assert f'"shank_was":{{"nm":{Length.of(".3750").nm}}}' in body
        assert session.exec(select(Setting.state)).one() is SettingState.LAPSED


def test_a_pilot_that_reads_the_same_again_unsettles_nothing(
    database: Database, writing: Writing
) -> None:
    with writing() as tx:
        pilot = create_pilot(tx, pilot_form())
        cutter = create_cutter(tx, cutter_form(name="Head 2"))
        live_setting_row(tx, job_row(tx), cutter.id, pilot_id=pilot.id)
        measure_pilot(tx, pilot.id, sizes_form(shank=".3750", day="2026-04-01"))
        update_pilot(tx, pilot.id, pilot_form(name="P 2", is_tapered="yes"))
    with database.read() as session:
        assert session.exec(select(Setting.state)).one() is SettingState.LIVE
        assert session.exec(select(Pilot.is_tapered)).one()


def test_a_pilot_is_not_measured_before_it_was_last_measured(writing: Writing) -> None:
    with writing() as tx:
        pilot = create_pilot(tx, pilot_form())
    with pytest.raises(Refused) as no, writing() as tx:
        measure_pilot(tx, pilot.id, sizes_form(shank=".3748", day="2025-12-31"))
    assert no.value.field == "measured_on"


def test_a_fixture_that_reads_something_else_lapses_what_was_set_on_it(
    database: Database, writing: Writing
) -> None:
    with writing() as tx:
        fixture = create_fixture(tx, fixture_form())
        cutter = create_cutter(tx, cutter_form(name="Head 2"))
        live_setting_row(tx, job_row(tx), cutter.id, fixture_id=fixture.id)
        update_fixture(tx, fixture.id, fixture_form(name="Bench setter"))
        assert tx.session.exec(select(Setting.state)).one() is SettingState.LIVE
        update_fixture(tx, fixture.id, fixture_form(mode="radius"))
    with database.read() as session:
        assert session.exec(select(Setting.state)).one() is SettingState.LAPSED
        assert session.exec(select(Fixture.mode)).one() is FixtureMode.RADIUS


def test_a_check_holds_within_the_instruments_own_error_else_one_division(
    writing: Writing,
) -> None:
    with writing() as tx:
        loose = create_instrument(tx, instrument_form(name="Mike 1", greatest_error=".0002"))
        plain = create_instrument(tx, instrument_form(name="Mike 2"))
        assert check_instrument(tx, loose.id, check_form(loose)).is_within
        assert not check_instrument(tx, plain.id, check_form(plain)).is_within


def test_a_comparators_check_may_be_typed_as_divisions_from_its_master() -> None:
    gauge = Instrument(
        name="Bore 1",
        kind=InstrumentKind.BORE,
        unit=Unit.INCH,
        division=Length.of(".0001"),
        is_comparator=True,
    )
    assert CheckForm({"master": "1.6220", "read": "+2"}, instrument=gauge).read == (
        Length.of("1.6222")
    )
    gauge.is_comparator = False
    assert "read" in CheckForm({"master": "1.6220", "read": "+2"}, instrument=gauge).errors


def test_the_crib_asks_no_more_of_the_database_however_much_stands_in_it(
    database: Database, writing: Writing
) -> None:
    with writing() as tx:
        first = create_cutter(tx, cutter_form(name="Head 1"))
        job = job_row(tx)
        live_setting_row(tx, job, first.id)
        create_instrument(tx, instrument_form(name="Mike 1"))
    few = statements(database)
    with writing() as tx:
        for number in range(2, 12):
            cutter = create_cutter(tx, cutter_form(name=f"Head {number}"))
            live_setting_row(tx, job, cutter.id)
            create_instrument(tx, instrument_form(name=f"Mike {number}"))
    assert statements(database) == few


@pytest.mark.parametrize(
    ("form", "field"),
    [
        (lambda: machine_form(name="", travel="8"), "name"),
        (lambda: machine_form(name="x", travel="8 m"), "travel"),
        (lambda: machine_form(name="x", travel="200"), "travel"),
        (lambda: machine_form(name="x" * 61, travel="8"), "name"),
        (lambda: machine_form(name="a\x07b", travel="8"), "name"),
        (lambda: cutter_form(name="x", kind=""), "kind"),
        (lambda: cutter_form(name="x", kind="fixed"), "fixed_size"),
        (lambda: cutter_form(name="x", fixed_size="1.6"), "fixed_size"),
        (lambda: cutter_form(name="x", kind="fixed", fixed_size="41.2"), "fixed_size"),
        (lambda: cutter_form(name="x", corner_radius="NaN"), "corner_radius"),
        (lambda: pilot_form(guide_diameter="8.7"), "guide_diameter"),
        (lambda: pilot_form(guide_diameter="inf"), "guide_diameter"),
        (lambda: pilot_form(guide_diameter="-.34"), "guide_diameter"),
        (lambda: pilot_form(measured_on="yesterday"), "measured_on"),
        (lambda: pilot_form(shank_diameter=".2500"), "confirm_shank"),
        (lambda: fixture_form(mode="backwards"), "mode"),
        (lambda: fixture_form(division="2"), "division"),
        (lambda: instrument_form(name="x", division=""), "division"),
        (lambda: instrument_form(name="x", check_every_days="0"), "check_every_days"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(form: Any, field: str) -> None:
    assert field in form().errors


def test_an_odd_shank_is_asked_about_once() -> None:
    assert pilot_form(shank_diameter=".2500", confirm_shank="yes").ok


def test_a_millimetre_pilot_is_read_in_millimetres_in_an_inch_shop() -> None:
    form = pilot_form(unit="mm", guide_diameter="7,02", shank_diameter="9.52")
    assert form.guide_diameter == Length.of("7.02", "mm")


def machine_form(**raw: str) -> MachineForm:
    return MachineForm(raw, unit=Unit.INCH)


def cutter_form(**raw: str) -> CutterForm:
    return CutterForm({"kind": "adjustable", **raw}, unit=Unit.INCH)


def pilot_form(**raw: str) -> PilotForm:
    plain = {
        "name": "P 1",
        "unit": "in",
        "guide_diameter": ".3432",
        "shank_diameter": ".3750",
        "measured_on": "2026-01-05",
    }
    return PilotForm({**plain, **raw}, unit=Unit.INCH)


def sizes_form(shank: str, day: str) -> PilotSizesForm:
    raw = {"guide_diameter": ".3432", "shank_diameter": shank, "measured_on": day}
    return PilotSizesForm(raw, unit=Unit.INCH)


def fixture_form(**raw: str) -> FixtureForm:
    plain = {"name": "Setter", "unit": "in", "mode": "diameter", "division": ".0001"}
    return FixtureForm({**plain, **raw}, unit=Unit.INCH)


def instrument_form(**raw: str) -> InstrumentForm:
    return InstrumentForm({"kind": "od", "unit": "in", "division": ".0001", **raw}, unit=Unit.INCH)


def check_form(instrument: Instrument) -> CheckForm:
    return CheckForm({"master": "1.0000", "read": "1.0002"}, instrument=instrument)


def statements(database: Database) -> int:
    asked: list[str] = []

    def note(*given: Any) -> None:
        asked.append(given[2])

    with database.read() as session:
        event.listen(database.engine, "before_cursor_execute", note)
        crib(session, ZoneInfo("UTC"), date(2026, 3, 2))
        event.remove(database.engine, "before_cursor_execute", note)
    return len(asked)
