"""Rows that stand on the bench, written straight in: what the tests of other nouns need there."""

from __future__ import annotations

from datetime import UTC, datetime

from app.calc.units import Length
from app.models.crib import Machine
from app.models.head import Head, Port
from app.models.job import Job
from app.models.port_pass import Cut, OvercutSample, PortPass
from app.models.ring import RingSet
from app.models.setting import ClampUp, Setting, SettingAdjustment
from app.services.write import Write
from app.workflow.kinds import CustomerKind, RingOwner, SettingState, Unit
from app.workflow.words import Kind, LabelMeans, Material, Stage, Work

AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def job_row(tx: Write, seq: int = 1) -> Job:
    """Job 26-0001, taken in."""
    return tx.add(
        Job(
            number=f"26-{seq:04d}",
            year=2026,
            seq=seq,
            customer_kind=CustomerKind.SHOP_STOCK,
            unit=Unit.INCH,
            wanted="two seat rings",
            taken_in_by_id=tx.by_id,
            taken_in_at=AT,
        )
    )


def head_row(tx: Write, job: Job, material: Material = Material.GREY_IRON) -> Head:
    """Its head: four cylinders, eight valves."""
    return tx.add(
        Head(
            job_id=job.id,
            nth=1,
            material=material,
            layout="EIIEEIIE",
            numbered_from="front",
            valves_per_cylinder=2,
            gate_version=1,
        )
    )


def position_row(tx: Write, head: Head, place: int = 4, label: str = "3E") -> Port:
    """A position of the head that gets a ring."""
    return tx.add(
        Port(
            head_id=head.id,
            place=place,
            row=0,
            label=label,
            cylinder=label[0],
            kind=Kind.EXHAUST,
            nth=1,
            work=Work.RING,
            stage=Stage.MEASURE,
        )
    )


def ring_set_row(tx: Write, job: Job | None = None) -> RingSet:
    """A set of rings, without rings yet."""
    return tx.add(
        RingSet(
            job_id=None if job is None else job.id,
            owner=RingOwner.SHOP,
            unit=Unit.INCH,
            label_means=LabelMeans.UNKNOWN,
        )
    )


def live_setting_row(
    tx: Write,
    job: Job,
    cutter_id: int,
    pilot_id: int | None = None,
    fixture_id: int | None = None,
) -> Setting:
    """A cutter set to 1.6218 for the job."""
    return tx.add(
        Setting(
            job_id=job.id,
            cutter_id=cutter_id,
            pilot_id=pilot_id,
            fixture_id=fixture_id,
            target_bore=Length.of("1.6221"),
            overcut=Length.of(".0003"),
            overcut_source="mean of 5 cuts",
            under_by=Length(0),
            set_size=Length.of("1.6218"),
            state=SettingState.LIVE,
            live_since=AT,
            live_by_id=tx.by_id,
        )
    )


def pass_row(
    tx: Write, port: Port, rings: RingSet, bore: str = "1.62220", nth: int = 1
) -> PortPass:
    """An open try at a bore, worked by the window .003 to .005."""
    return tx.add(
        PortPass(
            port_id=port.id,
            nth=nth,
            why="first",
            ring_set_id=rings.id,
            rule_least=Length.of(".0030"),
            rule_aim=Length.of(".0040"),
            rule_most=Length.of(".0050"),
            rule_source="common practice",
            target_bore=Length.of(bore),
            depth=Length.of(".250"),
            opened_at=AT,
        )
    )


def overcut_row(
    tx: Write, job: Job, setting: Setting, measured: str, seq: int = 1
) -> OvercutSample:
    """A signed bore that the setting's cutter cut to this size; each on a head of its own."""
    head = tx.add(Head(job_id=job.id, nth=10 + seq, material=Material.GREY_IRON, gate_version=1))
    tried = pass_row(tx, position_row(tx, head), ring_set_row(tx, job))
    machine = tx.add(Machine(name=f"Machine of cut {seq}"))
    clamp_up = tx.add(
        ClampUp(
            by_id=tx.by_id,
            at=AT,
            head_id=head.id,
            machine_id=machine.id,
            datum="deck",
            touch_off=Length(0),
            level="level both ways",
        )
    )
    adjusted = tx.add(
        SettingAdjustment(
            by_id=tx.by_id,
            at=AT,
            setting_id=setting.id,
            why="set",
            achieved=setting.set_size,
            typed="1.6218",
            set_size=setting.set_size,
            expected_bore=setting.target_bore,
        )
    )
    cut = tx.add(
        Cut(
            by_id=tx.by_id,
            at=AT,
            port_pass_id=tried.id,
            setting_id=setting.id,
            setting_adjustment_id=adjusted.id,
            clamp_up_id=clamp_up.id,
            stop=Length.of(".250"),
        )
    )
    return tx.add(
        OvercutSample(
            cut_id=cut.id,
            port_pass_id=tried.id,
            cutter_id=setting.cutter_id,
            tip_change_id=setting.tip_change_id,
            material=Material.GREY_IRON,
            set_size=setting.set_size,
            measured=Length.of(measured),
            at=AT,
        )
    )
