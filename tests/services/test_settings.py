"""Settings: planned over a job's heads, set and read back, lapsed, made again."""

from __future__ import annotations

import pytest
from sqlmodel import select

from app.calc.units import Length
from app.forms.crib import CutterForm, PilotSizesForm
from app.forms.settings import AchievedForm, SettingForm
from app.models.crib import Cutter
from app.models.head import Port
from app.models.job import Job
from app.models.reading import Reading
from app.models.ring import RingSet
from app.models.setting import Setting
from app.queries.plans import PlanView, show_plan
from app.queries.settings import Fit, PositionState, SettingView, show_setting
from app.services.cuts import open_cut
from app.services.cutters import change_tip, create_cutter
from app.services.new_settings import make_setting
from app.services.pilots import measure_pilot
from app.services.readings import strike_reading
from app.services.settings import end_setting, record_achieved
from app.services.write import Refused
from app.workflow.kinds import Quantity, SettingState, Unit
from app.workflow.words import Stage
from tests.services.floor import Floor

V8 = "EIIEEIIE"
FIRST = ["1.6262", "1.6262", "1.6261", "1.6261", ".2500", ".2502", ".2501", "1.376"]
OTHER = ["1.6262", "1.6261", ".2501"]


def plan(floor: Floor, job: Job | None = None, *, together: bool = False) -> PlanView:
    with floor.database.read() as session:
        return show_plan(session, job or floor.job, together=together)


def page(floor: Floor, setting: Setting) -> SettingView:
    with floor.database.read() as session:
        person = floor.hands.person
        assert person is not None
        view = show_setting(session, setting.id, person_id=person.id, at=floor.hands.at)
    assert view is not None
    return view


def make(floor: Floor, *labels: str, **fields: str) -> Setting:
    ports = [str(floor.ports[label].id) for label in labels]
    raw = {
        "cutter": str(floor.cutter.id),
        "fixture": str(floor.fixture.id),
        "pilot": str(floor.pilot.id),
        **fields,
    }
    with floor.hands.writing() as tx:
        return make_setting(tx, floor.job, SettingForm(raw, ports))


def reads(floor: Floor, setting: Setting, typed: str) -> Setting:
    with floor.hands.writing() as tx:
        return record_achieved(tx, setting.id, AchievedForm({"achieved": typed}, Unit.INCH))


def state_of(floor: Floor, setting: Setting) -> tuple[SettingState, str]:
    with floor.database.read() as session:
        now = session.get_one(Setting, setting.id)
        return now.state, now.lapsed_because


def strike_a_ring_reading(floor: Floor, rings: RingSet) -> None:
    with floor.database.read() as session:
        od = session.exec(select(Reading).where(Reading.quantity == Quantity.RING_OD)).first()
    assert od is not None
    with floor.hands.writing() as tx:
        strike_reading(tx, od.id, "the micrometer was not closed", rings)


# One setting for many positions


def test_one_setting_serves_the_exhausts_of_both_heads_of_a_pair(floor: Floor) -> None:
    job, exhausts = pair_of_heads(floor)
    view = plan(floor, job)
    (group,) = view.groups
    assert [each.target.name for each in group.positions] == [
        *(f"left {label}" for label in ("1E", "3E", "5E", "7E")),
        *(f"right {label}" for label in ("2E", "4E", "6E", "8E")),
    ]
    assert group.bore.inches(5) == "1.62215"
    setting = floor.hands.set_to(
        floor.hands.make_setting(
            job, exhausts, cutter=floor.cutter.id, fixture=floor.fixture.id, pilot=floor.pilot.id
        )
    )
    shown = page(floor, setting)
    assert [each.name for each in shown.positions][::4] == ["left 1E", "right 2E"]
    assert {each.fit for each in shown.positions} == {Fit.ON_PURPOSE}
    assert not plan(floor, job).groups


def test_intakes_and_exhausts_are_apart_unless_asked_together(floor: Floor) -> None:
    job, _ = pair_of_heads(floor, work={"*": "ring"})
    assert [len(group.positions) for group in plan(floor, job).groups] == [8, 8]
    assert [len(group.positions) for group in plan(floor, job, together=True).groups] == [16]


def test_what_cannot_be_planned_is_told_with_its_reason(floor: Floor) -> None:
    (first, second) = plan(floor).plan.not_ready
    assert (first.name, second.name) == ("2E", "3E")
    assert first.open == ("a ring set",)


# Set and read back


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_a_reading_that_leaves_a_window_is_kept_and_does_not_make_the_setting_live(
    floor: Floor,
) -> None:
    setting = make(floor, "2E", "3E")
    reads(floor, setting, ".8120")
    assert state_of(floor, setting) == (SettingState.READY, "")
    shown = page(floor, setting)
    assert [each.fit for each in shown.positions] == [Fit.OVER, Fit.OVER]
    assert [read.adjustment.typed for read in shown.reads] == [".8120"]
    assert floor.stage("2E") is Stage.SET


def test_a_setting_is_live_only_for_positions_whose_window_it_leaves_whole(floor: Floor) -> None:
    rings_of_two_sizes(floor)
    floor.trust_any_tip()
    setting = make(floor, "2E", "3E")
    # 2E wants 1.6211 to 1.6231, 3E 1.6217 to 1.6237.
    reads(floor, setting, ".8107")
    shown = page(floor, setting)
    assert [(each.name, each.fit) for each in shown.positions] == [
        ("2E", Fit.INSIDE),
        ("3E", Fit.UNDER),
    ]
    assert shown.is_live
    floor.hands.clamp(floor.head, floor.machine.id)
    with (
        pytest.raises(Refused, match="outside the window of 3E"),
        floor.hands.writing() as tx,
    ):
        open_cut(tx, floor.ports["3E"], setting.id, was_touched=True)
    with floor.hands.writing() as tx:
        open_cut(tx, floor.ports["2E"], setting.id, was_touched=True)


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_the_other_two_readings_stand_beside_the_one_to_set(floor: Floor) -> None:
    size = page(floor, make(floor, "2E", "3E")).size
    assert size is not None
    assert size.reading.inches(4) == ".8100"
    assert [(each.mode.value, each.shown("in")) for each in size.by_mode] == [
        ("diameter", "1.6200"),
        ("radius", ".8100"),
        ("across_pilot", ".9816"),
    ]
    assert size.bore_per_division.inches(4) == ".0002"


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_a_cutter_set_for_something_else_lapses_what_it_was_set_at(floor: Floor) -> None:
    first = floor.hands.set_to(make(floor, "2E"))
    second = floor.hands.set_to(make(floor, "3E"))
    assert state_of(floor, first) == (
        SettingState.LAPSED,
        "the cutter was set for something else",
    )
    assert state_of(floor, second)[0] is SettingState.LIVE
    assert floor.stage("2E") is Stage.SET


@pytest.mark.parametrize("stage", [Floor.set_from_rings])
def test_a_re_check_that_moved_has_the_cutter_set_anew(floor: Floor) -> None:
    setting = floor.setting
    floor.hands.later(days=1)
    reads(floor, setting, ".8097")
    state, because = state_of(floor, setting)
    assert state is SettingState.READY
    assert because == "Reads .8097, .0003 less than when it was set: set the cutter anew."
    reads(floor, setting, ".8100")
    assert state_of(floor, setting) == (SettingState.LIVE, "")


@pytest.mark.parametrize("stage", [Floor.set_from_rings])
def test_a_re_check_within_one_division_makes_it_live_for_the_day(floor: Floor) -> None:
    setting = floor.setting
    floor.hands.later(days=1)
    assert not page(floor, setting).is_live
    reads(floor, setting, ".8101")
    shown = page(floor, setting)
    assert shown.is_live
    assert shown.checked is not None
    assert shown.checked.told == "Reads .8101 again: the setting is live."


# What makes a setting again


@pytest.mark.parametrize("stage", [Floor.set_from_rings])
def test_a_tip_change_lapses_what_the_cutter_was_set_at_and_asks_for_a_new_setting(
    floor: Floor,
) -> None:
    setting = floor.setting
    with floor.hands.writing() as tx:
        change_tip(tx, floor.cutter.id, "new carbide tip")
    assert state_of(floor, setting) == (
        SettingState.LAPSED,
        "the cutter's tip was seen to: new carbide tip",
    )
    assert floor.stage("2E") is Stage.SET
    assert page(floor, setting).rows.made_again_because
    with pytest.raises(Refused, match="This size no longer stands") as no:
        reads(floor, setting, ".8100")
    assert "Make the setting again for the positions that are left" in no.value.message
    assert [len(group.positions) for group in plan(floor).groups] == [2]
    again = floor.hands.set_to(make(floor, "2E", "3E"))
    assert state_of(floor, setting)[0] is SettingState.ENDED
    assert state_of(floor, again)[0] is SettingState.LIVE


@pytest.mark.parametrize("stage", [Floor.set_from_rings])
def test_a_pilot_measured_again_asks_for_a_new_setting(floor: Floor) -> None:
    setting = floor.setting
    sizes = {
        "guide_diameter": ".3431",
        "shank_diameter": ".3430",
        "measured_on": floor.hands.at.date().isoformat(),
        "unit": "in",
    }
    form = PilotSizesForm(sizes, unit=Unit.INCH, today=floor.hands.at.date())
    assert form.ok, form.errors
    with floor.hands.writing() as tx:
        measure_pilot(tx, floor.pilot.id, form)
    with pytest.raises(Refused, match="pilot 343 was re-measured"):
        reads(floor, setting, ".8100")


@pytest.mark.parametrize("stage", [Floor.set_from_rings])
def test_a_struck_ring_reading_leaves_the_setting_without_ground(floor: Floor) -> None:
    rings, setting = floor.ring_set, floor.setting
    floor.hands.clamp(floor.head, floor.machine.id)
    strike_a_ring_reading(floor, rings)
    with pytest.raises(Refused, match="no longer stands"):
        reads(floor, setting, ".8100")
    with pytest.raises(Refused, match="no longer stands"), floor.hands.writing() as tx:
        open_cut(tx, floor.ports["2E"], setting.id, was_touched=True)


@pytest.mark.parametrize("stage", [Floor.set_from_rings])
def test_an_ended_setting_frees_its_positions(floor: Floor) -> None:
    setting = floor.setting
    with floor.hands.writing() as tx:
        end_setting(tx, setting.id, "another cutter is to do it")
    assert [len(group.positions) for group in plan(floor).groups] == [2]
    assert floor.stage("3E") is Stage.SET
    with pytest.raises(Refused, match="This setting is over"):
        reads(floor, setting, ".8100")


# What is refused when it is made


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_a_page_that_shows_another_bore_than_there_is_now_refuses(floor: Floor) -> None:
    with pytest.raises(Refused, match=r"was 1\.62000 in when this page was opened and is 1\.62215"):
        make(floor, "2E", **{f"aim_{floor.ports['2E'].id}": str(Length.of("1.62000").nm)})
    assert settings(floor) == 0


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_two_tablets_on_one_plan_make_one_setting(floor: Floor) -> None:
    (group,) = plan(floor).groups
    aims = {f"aim_{each.target.rows.port.id}": str(each.aim.nm) for each in group.positions}
    first = make(floor, "2E", "3E", **aims)
    with pytest.raises(Refused, match=f"S-{first.id} was made for 2E since"):
        make(floor, "2E", "3E", **aims)
    assert settings(floor) == 1


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_a_bored_position_takes_no_further_setting(floor: Floor) -> None:
    floor.trust_any_tip()
    setting = floor.hands.set_to(make(floor, "2E", "3E"))
    floor.hands.clamp(floor.head, floor.machine.id)
    floor.bore("2E", setting, "1.6222")
    assert [each.state for each in page(floor, setting).positions] == [
        PositionState.TO_CUT,
        PositionState.BORED,
    ]
    with pytest.raises(Refused, match="2E is bored to size already"):
        make(floor, "2E")


def test_rings_that_no_one_bore_suits_need_a_setting_each(floor: Floor) -> None:
    rings_of_two_sizes(floor, second="1.6292")
    with pytest.raises(Refused, match="They need 2 settings: 2E; 3E"):
        make(floor, "2E", "3E")
    assert settings(floor) == 0


# Fixed cutters


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_a_fixed_cutter_is_live_at_once_for_the_windows_it_keeps(floor: Floor) -> None:
    fixed = fixed_cutter(floor, "1.6222")
    setting = make(floor, "2E", "3E", cutter=str(fixed.id), fixture="", pilot="")
    assert state_of(floor, setting)[0] is SettingState.LIVE
    shown = page(floor, setting)
    assert shown.size is None
    assert shown.bore.inches(4) == "1.6222"
    assert {each.fit for each in shown.positions} == {Fit.INSIDE}
    floor.hands.later(days=1)
    assert page(floor, setting).is_live


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_a_fixed_cutter_that_leaves_a_window_is_refused_at_its_field(floor: Floor) -> None:
    fixed = fixed_cutter(floor, "1.6240")
    with pytest.raises(Refused, match="outside the window of 2E and 3E") as no:
        make(floor, "2E", "3E", cutter=str(fixed.id), fixture="", pilot="")
    assert no.value.field == "cutter"
    (group,) = plan(floor).groups
    choice = next(each for each in group.cutters if each.cutter.id == fixed.id)
    assert choice.outside == ("2E", "3E")


# Pilots


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_a_pilot_is_told_by_its_clearance_in_the_guides_of_these_positions(floor: Floor) -> None:
    (group,) = plan(floor).groups
    (fit,) = group.pilots
    assert fit.told("in") == ".0004 clear in the guides"


def fixed_cutter(floor: Floor, size: str) -> Cutter:
    form = CutterForm({"name": "Fixed", "kind": "fixed", "fixed_size": size}, unit=Unit.INCH)
    assert form.ok, form.errors
    with floor.hands.writing() as tx:
        return create_cutter(tx, form)


def rings_of_two_sizes(floor: Floor, second: str = "1.6267") -> None:
    """2E has a ring of 1.6261, 3E one that is larger."""
    for label, od in (("2E", "1.6261"), ("3E", second)):
        row = [od] * 4 + [".2500"] * 3 + ["1.376"]
        floor.hands.rings(floor.job, [floor.ports[label]], [row])


def settings(floor: Floor) -> int:
    with floor.database.read() as session:
        return len(session.exec(select(Setting.id)).all())


def pair_of_heads(floor: Floor, work: dict[str, str] | None = None) -> tuple[Job, list[Port]]:
    """A pair of V8 heads whose exhausts get rings, all of one set; or every position."""
    hands = floor.hands
    job = hands.take_in(customer="Cinder Path Racing", wanted="hard seats", heads="both")
    rings: dict[str, list[Port]] = {"E": [], "I": []}
    for head in hands.heads(job):
        numbers = "1-3-5-7" if head.name == "left" else "2-4-6-8"
        hands.describe(
            head,
            casting=f"CP 8{head.nth}",
            material="grey_iron",
            layout=V8,
            valves="2",
            cylinders=numbers,
        )
        labels = {f"{number}E": "ring" for number in numbers.split("-")}
        hands.decide(head, work or {**labels, "*": "seat_only"}, {"*": "casting"})
        hands.guide_bores(head, dict.fromkeys(hands.ports(head), ".3436"))
        for port in hands.ports(head).values():
            rings[port.kind.value].append(port)
    for kind in ("E", "I") if work else ("E",):
        hands.rings(job, rings[kind], [FIRST] + [OTHER] * 7, name=kind)
    return job, rings["E"]
