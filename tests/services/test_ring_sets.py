"""Ring sets: opened for positions, rings chosen and swapped, windows chosen over the rule."""

from __future__ import annotations

import pytest
from sqlmodel import select

from app.calc.units import Length
from app.forms.ring_sets import RingSetForm, WindowForm
from app.models.head import Port
from app.models.result import NoLongerStands, Result
from app.models.ring import Ring, RingSet
from app.services.ring_sets import (
    add_ring,
    choose_protrusion,
    choose_ring,
    choose_window,
    edit_set,
    open_ring_set,
    open_set,
    retire_ring,
    say_label_means,
    use_set_for,
)
from app.services.shop_rules import set_rule
from app.services.write import NotFound, Refused
from app.workflow.kinds import Quantity, ResultKind, Unit
from app.workflow.words import Ended, LabelMeans, Stage
from app.worksheets.head_rows import load_heads
from app.worksheets.ring_sets import SetWorking, load_set
from app.worksheets.shop_rules import current_rules
from app.worksheets.targets import PortTarget, load_targets
from tests.services.floor import Floor


def form(*ports: Port, **fields: str) -> RingSetForm:
    made = RingSetForm({"count": "2", **fields}, Unit.INCH, [str(port.id) for port in ports])
    assert made.ok, made.errors
    return made


def target(floor: Floor, label: str) -> PortTarget:
    """The position's figures as they stand."""
    with floor.database.read() as session:
        heads = load_heads(session, [floor.head])
        return load_targets(session, heads, current_rules(session))[floor.ports[label].id]


def working(floor: Floor, ring_set: RingSet) -> SetWorking:
    with floor.database.read() as session:
        return load_set(session, session.get_one(RingSet, ring_set.id), current_rules(session))


def port_of(floor: Floor, label: str) -> Port:
    with floor.database.read() as session:
        return session.get_one(Port, floor.ports[label].id)


def stale(floor: Floor) -> set[tuple[ResultKind, str]]:
    """What no longer stands, and why."""
    with floor.database.read() as session:
        rows = session.exec(
            select(Result.kind, NoLongerStands.because).join(
                NoLongerStands,
                NoLongerStands.result_id == Result.id,  # type: ignore[arg-type]
            )
        ).all()
    return {(ResultKind(kind), because) for kind, because in rows}


# Opened for positions


def test_a_set_opens_with_its_rings_numbered_for_its_positions(floor: Floor) -> None:
    with floor.hands.writing() as tx:
        ring_set = open_set(
            tx, floor.job, Unit.INCH, form(floor.ports["2E"], floor.ports["3E"], count="3")
        )
    assert [ring.tag for ring in floor.hands.rings_of(ring_set)] == ["1", "2", "3"]
    assert {port_of(floor, label).ring_set_id for label in ("2E", "3E")} == {ring_set.id}


def test_a_position_that_gets_no_ring_takes_no_set(floor: Floor) -> None:
    with floor.hands.writing() as tx, pytest.raises(Refused, match="no seat ring is wanted there"):
        open_set(tx, floor.job, Unit.INCH, form(floor.ports["1E"]))


def test_a_position_of_another_job_is_not_found(floor: Floor) -> None:
    other = floor.hands.take_in(customer="Somebody else", wanted="rings")
    with floor.hands.writing() as tx, pytest.raises(NotFound):
        open_set(tx, other, Unit.INCH, form(floor.ports["2E"]))


@pytest.mark.parametrize("stage", [Floor.set_from_rings])
def test_a_position_taken_out_of_its_set_has_no_figures(floor: Floor) -> None:
    ring_set = floor.ring_set
    with floor.hands.writing() as tx:
        use_set_for(tx, ring_set, floor.job, [floor.ports["2E"].id])
    assert port_of(floor, "3E").ring_set_id is None
    assert target(floor, "3E").open == ("a ring set",)
    assert (ResultKind.TARGET, "it was taken out of its ring set") in stale(floor)


@pytest.mark.parametrize("stage", [Floor.set_from_rings])
def test_another_set_for_a_position_unsettles_what_rested_on_the_first(floor: Floor) -> None:
    with floor.hands.writing() as tx:
        open_set(tx, floor.job, Unit.INCH, form(floor.ports["3E"], count="1"))
    assert {because for _, because in stale(floor)} == {"its rings come from another set now"}
    assert floor.stage("3E") is Stage.MEASURE


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_rings_of_a_job_that_is_over_stay_as_they_are(floor: Floor) -> None:
    ring_set = floor.ring_set
    with floor.database.write() as session:
        job = session.get_one(type(floor.job), floor.job.id)
        job.ended_as, job.ended_at = Ended.SCRAPPED, floor.hands.at
        session.add(job)
    with floor.hands.writing() as tx, pytest.raises(Refused, match="is over"):
        open_ring_set(tx, ring_set.id)


# Worked from


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_the_bore_is_worked_from_the_mean_of_the_set(floor: Floor) -> None:
    found = target(floor, "3E")
    assert found.is_ready
    assert found.target is not None
    assert found.target.target_bore.inches(5) == "1.62215"


def test_a_doubtful_ring_leaves_every_position_of_its_set_without_figures(floor: Floor) -> None:
    ring_set = floor.read_rings(ods=("1.6262", "1.6281"))
    rows = working(floor, ring_set).rows
    assert [bool(row.doubts) for row in rows] == [True, True]
    found = target(floor, "2E")
    assert found.target is None
    assert "ring 1: 1.6281 in doubt" in found.open


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_one_more_ring_has_to_be_read_before_anything_is_worked(floor: Floor) -> None:
    ring_set = floor.ring_set
    with floor.hands.writing() as tx:
        add_ring(tx, ring_set)
    assert target(floor, "2E").open == ("ring 3: outside diameter to read",)


@pytest.mark.parametrize("stage", [Floor.set_from_rings])
def test_a_ring_put_away_no_longer_counts_and_leaves_what_rested_on_it(floor: Floor) -> None:
    ring_set = floor.ring_set
    second = floor.hands.rings_of(ring_set)[1]
    with floor.hands.writing() as tx:
        retire_ring(tx, second, "dropped")
    assert [row.tag for row in working(floor, ring_set).rows] == ["1"]
    assert (ResultKind.TARGET, "ring 2 of its set was put away") in stale(floor)


def test_rings_too_far_apart_for_one_bore_ask_for_a_choice(floor: Floor) -> None:
    ring_set = floor.hands.rings(
        floor.job,
        [floor.ports["2E"], floor.ports["3E"]],
        [
            ["1.6262"] * 4 + [".2500"] * 3 + ["1.376"],
            ["1.6291", "1.6291", ".2501"],
        ],
    )
    found = target(floor, "2E")
    assert found.target is None
    assert found.open == (
        "the rings are .0029 apart, too much for one bore: choose a ring for each position",
    )
    first, second = floor.hands.rings_of(ring_set)
    with floor.hands.writing() as tx:
        choose_ring(tx, floor.ports["2E"], first)
    with floor.hands.writing() as tx:
        choose_ring(tx, floor.ports["3E"], second)
    bores = [target(floor, label).target for label in ("2E", "3E")]
    assert [bore.target_bore.inches(4) for bore in bores if bore] == ["1.6222", "1.6251"]


def test_a_ring_apart_is_named_and_the_others_are_worked_once_it_has_its_position(
    floor: Floor,
) -> None:
    ring_set = floor.hands.rings(
        floor.job,
        [floor.ports["2E"], floor.ports["3E"]],
        [
            ["1.6262"] * 4 + [".2500"] * 3 + ["1.376"],
            ["1.6262", "1.6261", ".2501"],
            ["1.6291", "1.6292", ".2501"],
        ],
    )
    third = floor.hands.rings_of(ring_set)[2]
    found = target(floor, "2E")
    assert found.target is None
    assert found.open == (
        "ring 3 is .0030 larger than the others: choose a position for it, or put it away",
    )
    with floor.hands.writing() as tx:
        choose_ring(tx, floor.ports["3E"], third)
    bores = [target(floor, label).target for label in ("2E", "3E")]
    assert [bore.target_bore.inches(5) for bore in bores if bore] == ["1.62218", "1.62515"]
    assert target(floor, "2E").is_ready


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_a_freed_ring_unsettles_the_positions_that_it_may_go_into(floor: Floor) -> None:
    first, _ = floor.hands.rings_of(floor.ring_set)
    with floor.hands.writing() as tx:
        choose_ring(tx, floor.ports["2E"], first)
    floor.set_up()
    with floor.hands.writing() as tx:
        choose_ring(tx, floor.ports["2E"], None)
    assert (ResultKind.TARGET, "another ring may go in here now") in stale(floor)


# Chosen and swapped


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_one_ring_goes_to_one_position(floor: Floor) -> None:
    first, _ = floor.hands.rings_of(floor.ring_set)
    with floor.hands.writing() as tx:
        choose_ring(tx, floor.ports["2E"], first)
    with floor.hands.writing() as tx, pytest.raises(Refused, match="chosen for 2E"):
        choose_ring(tx, floor.ports["3E"], first)


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_a_ring_of_another_set_is_not_chosen(floor: Floor) -> None:
    with floor.hands.writing() as tx:
        other = open_set(tx, floor.job, Unit.INCH, form(count="1"))
    with floor.hands.writing() as tx, pytest.raises(Refused, match="belongs to another set"):
        choose_ring(tx, floor.ports["2E"], floor.hands.rings_of(other)[0])


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_rings_swapped_after_the_setting_unsettle_both_positions(floor: Floor) -> None:
    first, second = floor.hands.rings_of(floor.ring_set)
    choose = {"2E": first, "3E": second}
    for label, ring in choose.items():
        with floor.hands.writing() as tx:
            choose_ring(tx, floor.ports[label], ring)
    floor.set_up()
    assert stale(floor) == set()
    with floor.hands.writing() as tx:
        choose_ring(tx, floor.ports["2E"], None)
    with floor.hands.writing() as tx:
        choose_ring(tx, floor.ports["3E"], first)
    with floor.hands.writing() as tx:
        choose_ring(tx, floor.ports["2E"], second)
    assert stale(floor) == {
        (ResultKind.TARGET, "another ring was chosen for this position"),
    }


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_the_ring_that_is_chosen_already_unsettles_nothing(floor: Floor) -> None:
    first, _ = floor.hands.rings_of(floor.ring_set)
    with floor.hands.writing() as tx:
        choose_ring(tx, floor.ports["2E"], first)
    floor.set_up()
    with floor.hands.writing() as tx:
        choose_ring(tx, floor.ports["2E"], first)
    assert stale(floor) == set()


# Window, protrusion, box


def window(**fields: str) -> WindowForm:
    raw = {"least": ".002", "aim": ".003", "most": ".004", "source": "the maker's book"}
    return WindowForm(raw | fields, Unit.INCH)


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_a_window_over_the_rule_moves_the_bore_and_names_its_source(floor: Floor) -> None:
    with floor.hands.writing() as tx:
        choose_window(tx, [floor.ports["2E"]], window())
    found = target(floor, "2E")
    assert found.target is not None
    assert found.window is not None
    assert found.target.target_bore.inches(5) == "1.62315"
    assert found.window.source == "the maker's book"
    with floor.hands.writing() as tx:
        choose_window(tx, [floor.ports["2E"]], None)
    again = target(floor, "2E").target
    assert again is not None
    assert again.target_bore.inches(5) == "1.62215"


@pytest.mark.parametrize(
    ("fields", "wrong"),
    [
        ({"aim": ".005"}, "aim"),
        ({"source": ""}, "source"),
        ({"most": "4"}, "most"),
        ({"least": "-.001"}, "least"),
        ({"aim": "nan"}, "aim"),
    ],
)
def test_a_window_that_cannot_be_is_refused_at_its_field(
    fields: dict[str, str], wrong: str
) -> None:
    assert list(window(**fields).errors) == [wrong]


@pytest.mark.parametrize("stage", [Floor.set_from_rings])
def test_a_proud_ring_wants_a_shallower_bore(floor: Floor) -> None:
    with floor.hands.writing() as tx:
        choose_protrusion(tx, [floor.ports["2E"]], Length.of(".005"))
    depth = target(floor, "2E").depth
    assert depth is not None
    assert depth.depth.inches(4) == ".2451"
    assert (ResultKind.TARGET, "how far its ring stands proud was changed") in stale(floor)


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_what_the_box_says_changes_no_figure(floor: Floor) -> None:
    ring_set = floor.ring_set
    before = target(floor, "2E").target
    with floor.hands.writing() as tx:
        say_label_means(tx, ring_set, LabelMeans.COUNTERBORE)
    after = target(floor, "2E").target
    assert before is not None
    assert after is not None
    assert after.target_bore == before.target_bore
    with floor.database.read() as session:
        assert session.get_one(RingSet, ring_set.id).label_means is LabelMeans.COUNTERBORE


@pytest.mark.parametrize(("shop_c", "is_stale"), [("26", True), ("20", False)])
def test_another_expansion_leaves_what_was_worked_from_it_without_ground(
    floor: Floor, shop_c: str, is_stale: bool
) -> None:
    with floor.hands.writing() as tx:
        if shop_c != "20":
            set_rule(tx, "temperature_c", shop_c, "a hot day")
    ring_set = floor.read_rings()
    floor.set_up()
    written = RingSetForm({"alpha_ppm": "12"}, Unit.INCH, fresh=False)
    with floor.hands.writing() as tx:
        edit_set(tx, ring_set, written)
    changed = (ResultKind.TARGET, "the ring's expansion was changed")
    assert (changed in stale(floor)) is is_stale


@pytest.mark.parametrize("stage", [Floor.set_from_rings])
def test_a_part_number_mended_leaves_every_figure_alone(floor: Floor) -> None:
    ring_set = floor.ring_set
    with floor.hands.writing() as tx:
        edit_set(tx, ring_set, RingSetForm({"part": "R 41"}, Unit.INCH, fresh=False))
    assert stale(floor) == set()


@pytest.mark.parametrize("stage", [Floor.read_rings])
def test_the_readings_of_a_set_are_those_that_its_figures_rest_on(floor: Floor) -> None:
    ring_set = floor.ring_set
    found = working(floor, ring_set)
    kept = [one for row in found.rows for one in row.readings.counting]
    assert found.reading_ids == [one.id for one in kept]
    assert sum(one.quantity is Quantity.RING_OD for one in kept) == 6
    with floor.database.read() as session:
        assert len(session.exec(select(Ring)).all()) == 2
