"""An instrument that fails a check takes along what was accepted on its readings since the last."""

from __future__ import annotations

import pytest
from sqlmodel import col, select

from app.calc.units import Length
from app.forms.crib import RepeatabilityForm
from app.models.crib import Instrument
from app.models.head import Head
from app.models.result import NoLongerStands, Result
from app.queries.instruments import read_since_it_held, rested_on
from app.services.instruments import keep_repeatability
from app.services.readings import ReadWith, strike_reading
from app.services.write import Refused
from app.workflow.kinds import InstrumentKind, ResultKind
from seed_demo.hands import filled
from tests.services.floor import Floor
from tests.services.test_errors_of_measurement import Shop

TEN = ("1.6220", "1.6221", "1.6222", "1.6221", "1.6221")


@pytest.fixture
def shop(floor: Floor) -> Shop:
    return Shop(floor)


def proved(floor: Floor) -> None:
    """2E proved by a named micrometer and a named bore gauge."""
    shop = Shop(floor)
    micrometer = shop.tool("Mike", "od", master="disc")
    bore_gauge = shop.tool("Gauge", "bore", error=".0002")
    shop.rings(ReadWith(micrometer.id))
    shop.cut(read_with=ReadWith(bore_gauge.id))
    floor.hands.prove(floor.ports["2E"], edge_is_known=True)


def tool(shop: Shop, name: str) -> Instrument:
    with shop.floor.database.read() as session:
        return session.exec(select(Instrument).where(Instrument.name == name)).one()


def gone(shop: Shop) -> dict[ResultKind, str]:
    """Kinds of results that no longer stand, and why."""
    with shop.floor.database.read() as session:
        rows = session.exec(
            select(Result.kind, NoLongerStands.because).join(
                NoLongerStands, col(NoLongerStands.result_id) == col(Result.id)
            )
        )
        return {ResultKind(kind): because for kind, because in rows}


@pytest.mark.parametrize("stage", [proved])
def test_a_bore_gauge_found_out_leaves_the_verdict_without_ground(shop: Shop) -> None:
    bore_gauge = tool(shop, "Gauge")
    shop.check(bore_gauge, read="1.6004")
    assert gone(shop) == {
        ResultKind.VERIFICATION: "Gauge was found .0004 in off at its check",
    }
    with shop.floor.database.read() as session:
        assert session.get_one(Head, shop.floor.head.id).stages_due
        found = rested_on(session, read_since_it_held(session, bore_gauge.id))
        assert [each.name for each in found] == ["2E"]


@pytest.mark.parametrize("stage", [proved])
def test_a_micrometer_found_out_takes_target_and_setting_along(shop: Shop) -> None:
    micrometer = tool(shop, "Mike")
    shop.check(micrometer, read="1.5997")
    assert set(gone(shop)) == {ResultKind.TARGET, ResultKind.SETTING, ResultKind.VERIFICATION}


@pytest.mark.parametrize("stage", [proved])
def test_a_check_that_holds_leaves_everything_standing(shop: Shop) -> None:
    bore_gauge = tool(shop, "Gauge")
    shop.check(bore_gauge, read="1.6001")
    assert gone(shop) == {}


@pytest.mark.parametrize("stage", [proved])
def test_what_was_read_before_the_last_check_that_held_is_not_in_doubt(shop: Shop) -> None:
    bore_gauge = tool(shop, "Gauge")
    shop.check(bore_gauge, read="1.6001")
    shop.check(bore_gauge, read="1.6009")
    assert gone(shop) == {}
    with shop.floor.database.read() as session:
        assert read_since_it_held(session, bore_gauge.id) == []


@pytest.mark.parametrize("stage", [proved])
def test_depths_and_struck_readings_are_not_the_bore_gauges(shop: Shop) -> None:
    bore_gauge = tool(shop, "Gauge")
    with shop.floor.database.read() as session:
        first, second = read_since_it_held(session, bore_gauge.id)
    with shop.floor.hands.writing() as tx:
        strike_reading(tx, first, "slipped", shop.floor.head)
    with shop.floor.database.read() as session:
        assert read_since_it_held(session, bore_gauge.id) == [second]


@pytest.mark.parametrize("stage", [proved])
def test_judging_again_without_reading_again_takes_the_error_found(shop: Shop) -> None:
    bore_gauge = tool(shop, "Gauge")
    before = shop.error().expanded
    shop.check(bore_gauge, read="1.6008")
    after = shop.error()
    assert after.expanded > before
    assert after.most == "most of it is what the bore gauge's check found"


def test_how_an_instrument_repeats_is_kept_with_its_readings(shop: Shop) -> None:
    tool = shop.tool("Gauge", "bore")
    form = _repeats(tool, TEN)
    with shop.floor.hands.writing() as tx:
        keep_repeatability(tx, tool.id, form, seen=tool.row_version)
    with shop.floor.database.read() as session:
        # s² = (1 + 1)/4 square tenths; twice its root is 1.414 tenths
        kept = session.get_one(Instrument, tool.id).repeatability
        assert kept is not None
        assert kept.inches(6) == ".000141"


def test_a_changed_instrument_is_looked_at_again_before_its_repeatability_is_kept(
    shop: Shop,
) -> None:
    tool = shop.tool("Gauge", "bore")
    with pytest.raises(Refused), shop.floor.hands.writing() as tx:
        keep_repeatability(tx, tool.id, _repeats(tool, TEN), seen=tool.row_version + 1)


def test_a_comparators_divisions_do_as_well_as_sizes(shop: Shop) -> None:
    tool = shop.tool("Gauge", "bore")
    tool.is_comparator = True
    by_size = filled(_repeats(tool, TEN)).found
    by_division = filled(_repeats(tool, ("-1", "0", "+1", "0", "0"))).found
    assert by_size is not None
    assert by_division is not None
    assert by_size.repeatability == by_division.repeatability


@pytest.mark.parametrize("typed", [TEN[:4], (*TEN[:4], "1.7221"), (*TEN[:4], "wide")])
def test_too_few_or_too_unlike_readings_say_nothing(shop: Shop, typed: tuple[str, ...]) -> None:
    tool = Instrument(
        name="Gauge", kind=InstrumentKind.BORE, unit=shop.floor.job.unit, division=Length(2540)
    )
    form = _repeats(tool, typed)
    assert not form.ok
    assert form.found is None


def _repeats(tool: Instrument, typed: tuple[str, ...]) -> RepeatabilityForm:
    raw = {f"read_{nth}": text for nth, text in enumerate(typed, start=1)}
    return RepeatabilityForm(raw, instrument=tool)
