"""What the office's figures count, on both databases."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from app.calc.units import Length
from app.models.port_pass import Hold, HoldRelease, PortFact
from app.queries.figure_views import Histogram
from app.queries.finished_months import FinishedMonths
from app.queries.job_figures import came_back, days_taken, hold_causes
from app.queries.signed_figures import first_time, interference_achieved, rings_and_labels
from app.queries.tip_figures import overcut_of_tips
from app.services.write import Write
from app.workflow.kinds import HoldReason
from app.workflow.periods import Month, Period
from app.workflow.words import Ended, Material, Way
from tests.services.bench_rows import head_row, job_row, pass_row, position_row, ring_set_row
from tests.services.conftest import Writing
from tests.services.counter import add_shop

ZONE = ZoneInfo("Europe/Vienna")
AT = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)
MARCH = Period(Month(2026, 3), Month(2026, 3))
SIGNED = datetime(2026, 3, 10, 9, 0, tzinfo=UTC)


def signed(
    tx: Write, interferences: list[str], right: int = 99, seq: int = 1, **facts: object
) -> None:
    job = job_row(tx, seq)
    rings = ring_set_row(tx, job)
    head = head_row(tx, job)
    for nth, interference in enumerate(interferences):
        port = position_row(tx, head, place=nth, label=f"{nth + 1}E")
        ring_od = Length.of("1.6262")
        kept = {
            "port_pass_id": pass_row(tx, port, rings).id,
            "port_id": port.id,
            "job_id": job.id,
            "signed_at": SIGNED,
            "material": Material.GREY_IRON,
            "ring_od": ring_od,
            "label_od": Length.of("1.6250"),
            "bore": ring_od - Length.of(interference),
            "interference": Length.of(interference),
            "aim": Length.of(".0040"),
            "least": Length.of(".0030"),
            "most": Length.of(".0050"),
            "passes": 1,
            "was_held": False,
            "was_deviation": False,
            "right_first_time": nth < right,
            "supplier": "Anvil Row",
            "lot": "L7",
        }
        tx.session.add(PortFact(**(kept | facts)))
    tx.session.flush()


def test_the_share_right_the_first_time_stands_with_its_count(writing: Writing) -> None:
    with writing() as tx:
        signed(tx, [".0040"] * 30, right=27)
        found = first_time(tx.session, MARCH, ZONE, AT, FinishedMonths())
    assert found.count == 30
    assert found.rows[0].cells[:4] == ("Mar 2026", 30, 27, 0.9)
    assert "27 of 30" in found.said[0]
    assert found.pictures


def test_no_share_is_drawn_below_25_cases(writing: Writing) -> None:
    with writing() as tx:
        signed(tx, [".0040"] * 24)
        found = first_time(tx.session, MARCH, ZONE, AT, FinishedMonths())
    assert found.few
    assert not found.pictures
    assert found.rows[0].cells[1] == 24


def test_what_was_signed_in_another_month_of_the_shops_calendar_does_not_count(
    writing: Writing,
) -> None:
    with writing() as tx:
        # Half past eleven in the evening of March 31 in London is April in Vienna.
        signed(tx, [".0040"], signed_at=datetime(2026, 3, 31, 22, 30, tzinfo=UTC))
        found = first_time(tx.session, MARCH, ZONE, AT, FinishedMonths())
    assert found.count == 0


def test_interferences_lie_around_their_aim_in_their_window(writing: Writing) -> None:
    sizes = [".0038", ".0040", ".0042"] * 10
    with writing() as tx:
        signed(tx, sizes)
        found = interference_achieved(tx.session, MARCH, ZONE, AT, FinishedMonths())
    [picture] = found.pictures
    assert isinstance(picture, Histogram)
    assert {middle.inches(4): n for middle, n in picture.bins if n} == {
        "-.0002": 10,
        ".0000": 10,
        ".0002": 10,
    }
    material, least, most, count, mean, deviation, *_ = found.rows[0].cells
    assert (material, count) == ("grey iron", 30)
    assert isinstance(least, Length)
    assert isinstance(most, Length)
    assert (least.inches(4), most.inches(4)) == ("-.0010", ".0010")
    assert isinstance(mean, Length)
    assert mean.nm == 0
    assert isinstance(deviation, Length)
    assert deviation.inches(5) == ".00017"


def test_rings_stand_by_supplier_and_lot_against_their_labels(writing: Writing) -> None:
    with writing() as tx:
        signed(tx, [".0040", ".0041"])
        found = rings_and_labels(tx.session, MARCH, ZONE, AT, FinishedMonths())
    supplier, lot, count, mean, *_ = found.rows[0].cells
    assert (supplier, lot, count) == ("Anvil Row", "L7", 2)
    assert isinstance(mean, Length)
    assert mean.inches(4) == ".0012"


def test_a_month_that_is_over_is_counted_once(writing: Writing) -> None:
    kept = FinishedMonths()
    with writing() as tx:
        signed(tx, [".0040"])
        assert first_time(tx.session, MARCH, ZONE, AT, kept).count == 1
        signed(tx, [".0041"], seq=2)
        assert first_time(tx.session, MARCH, ZONE, AT, kept).count == 1
        assert first_time(tx.session, MARCH, ZONE, AT, FinishedMonths()).count == 2


def test_a_month_under_way_is_counted_each_time(writing: Writing) -> None:
    kept = FinishedMonths()
    with writing() as tx:
        signed(tx, [".0040"])
        assert first_time(tx.session, MARCH, ZONE, SIGNED, kept).count == 1
        signed(tx, [".0041"], seq=2)
        assert first_time(tx.session, MARCH, ZONE, SIGNED, kept).count == 2


def test_days_and_promises_of_jobs_that_were_handed_over(writing: Writing) -> None:
    with writing() as tx:
        for seq, late in ((1, 0), (2, 3)):
            job = job_row(tx, seq)
            job.taken_in_at = SIGNED - timedelta(days=8)
            job.ended_at, job.ended_as = SIGNED + timedelta(days=late), Ended.HANDED_OVER
            job.promised_on = SIGNED.date()
            tx.session.add(job)
        tx.session.flush()
        found = days_taken(tx.session, MARCH, ZONE, AT, FinishedMonths())
    assert found.count == 2
    assert found.said[0].startswith("1 of 2 promises were kept")
    assert found.rows[0].cells == ("Mar 2026", 2, 2, 1, None, None, None, 8)


def test_holds_stand_by_cause_with_their_way_out(writing: Writing) -> None:
    with writing() as tx:
        port = position_row(tx, head_row(tx, job_row(tx)))
        for way in (Way.DEVIATION, Way.READ_AGAIN, None):
            held = tx.add(
                Hold(
                    by_id=tx.by_id,
                    at=SIGNED,
                    port_id=port.id,
                    reason=HoldReason.LOOSE,
                    words="too loose",
                )
            )
            if way is not None:
                tx.add(
                    HoldRelease(
                        by_id=tx.by_id,
                        at=SIGNED,
                        hold_id=held.id,
                        way=way,
                        is_deviation=way is Way.DEVIATION,
                        reason="a reason",
                        decided_by="Olive",
                    )
                )
        found = hold_causes(tx.session, MARCH, ZONE, AT, FinishedMonths())
    assert found.count == 3
    assert {row.cells for row in found.rows} == {
        ("too loose", "keep it, signed as a deviation", "yes", 1),
        ("too loose", "read again", "no", 1),
        ("too loose", "still on hold", "no", 1),
    }


def test_comebacks_name_the_job_that_came_back_and_its_cause(writing: Writing) -> None:
    with writing() as tx:
        add_shop(tx.session)
        before, job = job_row(tx, 1), job_row(tx, 2)
        before.ended_at, before.ended_as = SIGNED - timedelta(days=30), Ended.HANDED_OVER
        job.taken_in_at = SIGNED
        job.comeback_of_id, job.comeback_cause = before.id, "burnt valve"
        job.comeback_found, job.comeback_cost = "ring loose", 18050
        job.comeback_told, job.comeback_told_on = "the foreman", SIGNED.date()
        tx.session.add(before)
        tx.session.add(job)
        tx.session.flush()
        found = came_back(tx.session, MARCH, ZONE, AT, FinishedMonths())
    assert [row.cells for row in found.rows] == [
        ("26-0002", "26-0001", 30, "burnt valve", "ring loose", "180.50", "yes")
    ]
    assert found.said[1] == "Cost to the shop, as far as it is written down (1 of 1): 180.50 EUR."


def test_a_shop_without_cutters_has_no_overcut_to_show(writing: Writing) -> None:
    with writing() as tx:
        found = overcut_of_tips(tx.session, MARCH, ZONE, AT, FinishedMonths())
    assert (found.count, found.rows) == (0, ())
