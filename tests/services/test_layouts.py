"""The valve layout of a head, and what becomes of positions when it changes."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

import pytest
from sqlmodel import col, select

from app.calc.units import Length
from app.db import Database
from app.forms.ends import VoidForm
from app.forms.heads import AddHeadForm, HeadForm, TakeOverForm
from app.models.crib import Cutter, Machine
from app.models.head import Head, Port
from app.models.inspection import GuideWork
from app.models.job import Job
from app.models.port_pass import Cut, PortPass
from app.models.ring import RingSet
from app.models.setting import ClampUp, Setting, SettingAdjustment
from app.queries.castings import seen_before
from app.services.ends import void_job
from app.services.heads import add_head, describe_head, take_over
from app.services.write import Refused, Write
from app.workflow.kinds import CutterKind, RingOwner, SettingState, Unit
from app.workflow.words import GuideDecision, Kind, LabelMeans, Material, Work
from tests.services.conftest import Writing
from tests.services.counter import EIGHT, add_shop, decide, described, head_of, new_job, ports_of

AT = datetime(2026, 11, 25, 9, tzinfo=UTC)


@pytest.fixture(autouse=True)
def shop(database: Database) -> None:
    with database.write() as session:
        add_shop(session)


def measured(tx: Write, head: Head, labels: Iterable[str]) -> None:
    """Something is on record for these positions."""
    ports = ports_of(tx.session, head)
    for label in labels:
        tx.add(
            GuideWork(
                by_id=tx.by_id, at=tx.at, port_id=ports[label].id, decision=GuideDecision.LEFT
            )
        )


def cut(tx: Write, job: Job, port: Port) -> None:
    """Metal is off at this position."""
    machine = tx.add(Machine(name="Boring stand"))
    cutter = tx.add(Cutter(name="Adjustable 2", kind=CutterKind.ADJUSTABLE))
    size = Length.of("1.6222")
    rule = {"rule_least": Length(1), "rule_aim": Length(2), "rule_most": Length(3)}
    rings = tx.add(
        RingSet(job_id=job.id, owner=RingOwner.SHOP, unit=Unit.INCH, label_means=LabelMeans.UNKNOWN)
    )
    port_pass = tx.add(
        PortPass(
            port_id=port.id,
            nth=1,
            why="first",
            ring_set_id=rings.id,
            rule_source="common practice",
            target_bore=size,
            depth=size,
            opened_at=AT,
            **rule,
        )
    )
    setting = tx.add(
        Setting(
            job_id=job.id,
            cutter_id=cutter.id,
            target_bore=size,
            overcut=Length(0),
            overcut_source="typed",
            under_by=Length(0),
            set_size=size,
            state=SettingState.ENDED,
        )
    )
    adjusted = tx.add(
        SettingAdjustment(
            by_id=tx.by_id,
            at=AT,
            setting_id=setting.id,
            why="set",
            achieved=size,
            typed="1.6222",
            set_size=size,
            expected_bore=size,
        )
    )
    clamp_up = tx.add(
        ClampUp(
            by_id=tx.by_id,
            at=AT,
            head_id=port.head_id,
            machine_id=machine.id,
            datum="deck",
            touch_off=size,
            level="level",
        )
    )
    tx.add(
        Cut(
            by_id=tx.by_id,
            at=AT,
            port_pass_id=port_pass.id,
            setting_id=setting.id,
            setting_adjustment_id=adjusted.id,
            clamp_up_id=clamp_up.id,
            stop=size,
        )
    )


def change(tx: Write, head: Head, **fields: str) -> Head:
    form = HeadForm(EIGHT | fields)
    assert form.ok, form.errors
    return describe_head(tx, head.id, form)


def test_a_layout_makes_the_positions_as_they_lie(writing: Writing) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        ports = ports_of(tx.session, head)
        assert list(ports) == ["1E", "1I", "2I", "2E", "3E", "3I", "4I", "4E"]
        assert {port.work for port in ports.values()} == {Work.UNDECIDED}
        assert ports["3E"].kind is Kind.EXHAUST


def test_describing_again_changes_no_position(writing: Writing) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        before = {label: port.id for label, port in ports_of(tx.session, head).items()}
        change(tx, head, engine="marine four")
        assert {label: port.id for label, port in ports_of(tx.session, head).items()} == before


def test_while_nothing_is_measured_the_layout_changes_freely(writing: Writing) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        decide(tx, head, work_2E="ring")
        change(tx, head, pattern="IEEIIEEI")
        ports = ports_of(tx.session, head)
        assert list(ports)[:4] == ["1I", "1E", "2E", "2I"]
        assert ports["2E"].work is Work.RING


def test_a_dropped_position_is_void_and_comes_back_as_itself(writing: Writing) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        was = ports_of(tx.session, head)["4E"].id
        change(tx, head, pattern="EIIEEI")
        assert "4E" not in ports_of(tx.session, head)
        port = tx.session.get(Port, was)
        assert port is not None
        assert port.is_void
        change(tx, head)
        assert ports_of(tx.session, head)["4E"].id == was


def test_other_cylinder_numbers_keep_what_was_read_at_each_place(writing: Writing) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        measured(tx, head, ["3E"])
        was = ports_of(tx.session, head)["3E"].id
        change(tx, head, cylinders="1-3-5-7")
        ports = ports_of(tx.session, head)
        assert list(ports)[:4] == ["1E", "1I", "3I", "3E"]
        assert ports["5E"].id == was


def test_after_measuring_a_changed_layout_is_asked_about_once(writing: Writing) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        measured(tx, head, ["1E", "4E"])
    with pytest.raises(Refused) as refused, writing() as tx:
        change(tx, head, pattern="IEEIIE")
    assert refused.value.field == "confirm_layout"
    assert "4E" in refused.value.message
    with writing() as tx:
        assert next(iter(ports_of(tx.session, head))) == "1E"


def test_once_confirmed_a_dropped_position_keeps_its_record_under_a_former_name(
    writing: Writing,
) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        measured(tx, head, ["4E"])
        was = ports_of(tx.session, head)["4E"].id
        change(tx, head, pattern="EIIEEI", confirm_layout="yes")
        change(tx, head)
        port = tx.session.get(Port, was)
        assert port is not None
        assert port.is_void
        assert port.label == "4E′"
        assert ports_of(tx.session, head)["4E"].id != was


def test_once_metal_is_off_the_layout_stays(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        head = described(tx, job)
        cut(tx, job, ports_of(tx.session, head)["2E"])
    with pytest.raises(Refused) as refused, writing() as tx:
        change(tx, head, cylinders="1-3-5-7", confirm_layout="yes")
    assert refused.value.field == "layout"
    assert "2E" in refused.value.message
    with writing() as tx:
        change(tx, head, engine="still to be described")


def test_once_metal_is_off_the_work_stays(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        head = described(tx, job)
        decide(tx, head, quick="exhausts:ring")
        cut(tx, job, ports_of(tx.session, head)["2E"])
    with pytest.raises(Refused, match="2E"), writing() as tx:
        decide(tx, head, work_2E="leave")
    with writing() as tx:
        decide(tx, head, work_1E="leave", seat_2E="casting")
        assert ports_of(tx.session, head)["1E"].work is Work.LEAVE


def test_two_heads_of_a_job_have_two_names(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx, heads="left")
        add_head(tx, job.number, AddHeadForm({"name": "right"}))
        assert len(tx.session.exec(select(Head).where(Head.job_id == job.id)).all()) == 2
    with pytest.raises(Refused) as refused, writing() as tx:
        add_head(tx, job.number, AddHeadForm({"name": "Left"}))
    assert refused.value.field == "name"


def test_the_same_casting_proposes_what_it_was_before(writing: Writing) -> None:
    with writing() as tx:
        first = new_job(tx)
        before = described(tx, first, casting="HL-4410-B", material="grey_iron")
        rings = tx.add(
            RingSet(
                owner=RingOwner.SHOP,
                unit=Unit.INCH,
                label_means=LabelMeans.RING_OD,
                label_od=Length.of("1.625"),
            )
        )
        port = ports_of(tx.session, before)["2E"]
        port.ring_set_id, port.rule_aim = rings.id, Length.of(".004")
        port.rule_least, port.rule_most = Length.of(".003"), Length.of(".005")
        measured(tx, before, ["2E"])
        again = head_of(tx.session, new_job(tx))
        describe_head(tx, again.id, HeadForm({"casting": "hl-4410-b", "unit": "in"}))
        seen = seen_before(tx.session, again)
        assert seen is not None
        assert seen.number == first.number
        assert [each.ring_set.label_od for each in seen.labels] == [Length.of("1.625")]

        take_over(tx, again.id, TakeOverForm({"from_head": str(before.id)}))
        ports = ports_of(tx.session, again)
        assert again.material is Material.GREY_IRON
        assert again.layout == "EIIEEIIE"
        assert ports["2E"].rule_aim == Length.of(".004")
        # What was read or decided on the earlier head stays there.
        assert ports["2E"].ring_set_id is None
        assert ports["2E"].work is Work.UNDECIDED
        ids = [port.id for port in ports.values()]
        own = select(GuideWork).where(col(GuideWork.port_id).in_(ids))
        assert tx.session.exec(own).all() == []


def test_taking_over_keeps_what_was_typed(writing: Writing) -> None:
    with writing() as tx:
        before = described(tx, new_job(tx), casting="HL-4410-B", material="grey_iron")
        again = head_of(tx.session, new_job(tx))
        form = {"casting": "HL-4410-B", "material": "aluminium", "unit": "in"}
        describe_head(tx, again.id, HeadForm(form | {"take_over": str(before.id)}))
        assert again.material is Material.ALUMINIUM
        assert again.layout == "EIIEEIIE"


def test_the_other_head_of_a_pair_is_proposed_with_the_other_cylinder_numbers(
    writing: Writing,
) -> None:
    with writing() as tx:
        job = new_job(tx, heads="both")
        left = described(tx, job, name="left", cylinders="1-3-5-7", material="aluminium")
        right = tx.session.exec(select(Head).where(Head.name == "right")).one()
        seen = seen_before(tx.session, right)
        assert seen is not None
        assert seen.cylinders == "2-4-6-8"
        take_over(tx, right.id, TakeOverForm({"from_head": str(left.id)}))
        assert list(ports_of(tx.session, right))[:3] == ["2E", "2I", "4I"]
        assert right.material is Material.ALUMINIUM


def test_a_head_of_a_pair_keeps_a_name(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx, heads="both")
    with pytest.raises(Refused) as refused, writing() as tx:
        described(tx, job, name="")
    assert refused.value.field == "name"


def test_a_job_opened_by_mistake_proposes_nothing(writing: Writing) -> None:
    with writing() as tx:
        mistaken = new_job(tx)
        described(tx, mistaken, casting="HL-4410-B")
        void_job(tx, mistaken.number, VoidForm({"because": "typed twice"}))
        again = head_of(tx.session, new_job(tx))
        assert seen_before(tx.session, again, "HL-4410-B") is None
