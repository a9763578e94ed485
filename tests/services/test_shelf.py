"""The shelf: rings come, go to jobs with their readings, and come back."""

from __future__ import annotations

from typing import Any

import pytest
from sqlmodel import col, select

from app.calc.units import Length
from app.db import Database
from app.forms.shelf import NewShelfSetForm, OrderForm, ShelfSetForm, WantedRingForm
from app.models.event import Event
from app.models.job import WantedRing
from app.models.ring import Ring, RingSet
from app.services.shelf import (
    add_rings,
    create_shelf_set,
    put_back,
    retire_ring,
    take_to_job,
    update_shelf_set,
)
from app.services.wanted_rings import arrive_ring, drop_ring, order_ring, want_ring
from app.services.write import NotFound, Refused, Write
from app.workflow.kinds import Unit
from app.workflow.words import Ended
from tests.services.bench_rows import AT, head_row, job_row, pass_row, position_row
from tests.services.conftest import Writing


def test_a_box_of_rings_comes_on_the_shelf_numbered(database: Database, writing: Writing) -> None:
    with writing() as tx:
        box = create_shelf_set(tx, box_form(pieces="3"))
        add_rings(tx, box.id, 2)
    with database.read() as session:
        kept = session.exec(select(RingSet)).one()
        assert kept.job_id is None
        assert kept.label_od == Length.of("1.625")
        assert kept.alpha_per_k == pytest.approx(11.4e-6)
        tags = session.exec(select(Ring.tag).order_by(col(Ring.id))).all()
    assert tags == ["1", "2", "3", "4", "5"]


def test_some_rings_go_to_a_job_and_the_rest_stay(database: Database, writing: Writing) -> None:
    with writing() as tx:
        box = create_shelf_set(tx, box_form(pieces="3"))
        job = job_row(tx)
        taken = take_to_job(tx, box.id, "26-0001", ids(tx, box)[:2])
        assert taken.id != box.id
        assert (taken.job_id, taken.part, taken.label_od) == (job.id, "SR-14", box.label_od)
        assert tags(tx, taken) == ["1", "2"]
        assert tags(tx, box) == ["3"]
    with database.read() as session:
        assert session.get_one(RingSet, box.id).job_id is None


def test_all_rings_go_with_their_box(writing: Writing) -> None:
    with writing() as tx:
        box = create_shelf_set(tx, box_form(pieces="2"))
        job_row(tx)
        assert take_to_job(tx, box.id, "26-0001", ids(tx, box)).id == box.id
    with pytest.raises(Refused, match="at job 26-0001"), writing() as tx:
        take_to_job(tx, box.id, "26-0001", ids(tx, box))


def test_rings_a_job_did_not_need_come_back(writing: Writing) -> None:
    with writing() as tx:
        box = create_shelf_set(tx, box_form(pieces="2"))
        job_row(tx)
        take_to_job(tx, box.id, "26-0001", ids(tx, box))
        back = put_back(tx, box.id, ids(tx, box)[:1])
        assert back.job_id is None
        assert tags(tx, back) == ["1"]
        assert tags(tx, box) == ["2"]


def test_a_ring_meant_for_a_position_does_not_come_back(writing: Writing) -> None:
    with writing() as tx:
        box = create_shelf_set(tx, box_form(pieces="2"))
        port = position_row(tx, head_row(tx, job_row(tx)))
        taken = take_to_job(tx, box.id, "26-0001", ids(tx, box))
        first, second = ids(tx, taken)
        pass_row(tx, port, taken).ring_id = first
        tx.session.flush()
    with pytest.raises(Refused, match="Ring 1 is pressed in or meant"), writing() as tx:
        put_back(tx, taken.id, [first, second])
    with writing() as tx:
        assert tags(tx, put_back(tx, taken.id, [second])) == ["2"]


def test_rings_go_to_open_jobs_only(writing: Writing) -> None:
    with writing() as tx:
        box = create_shelf_set(tx, box_form(pieces="1"))
        job = job_row(tx)
        job.ended_as, job.ended_at = Ended.HANDED_OVER, AT
    with pytest.raises(Refused, match="over"), writing() as tx:
        take_to_job(tx, box.id, "26-0001", ids(tx, box))
    with pytest.raises(Refused) as no, writing() as tx:
        take_to_job(tx, box.id, "26-9999", ids(tx, box))
    assert no.value.field == "number"


def test_a_ring_that_is_gone_is_not_taken(writing: Writing) -> None:
    with writing() as tx:
        box = create_shelf_set(tx, box_form(pieces="2"))
        first, second = ids(tx, box)
        retire_ring(tx, box.id, first, "dropped, chipped")
        job_row(tx)
    with pytest.raises(Refused, match="not in this set any more"), writing() as tx:
        take_to_job(tx, box.id, "26-0001", [first, second])
    with pytest.raises(Refused), writing() as tx:
        retire_ring(tx, box.id, first, "twice")


def test_what_the_box_says_can_be_put_right(writing: Writing) -> None:
    with writing() as tx:
        box = create_shelf_set(tx, box_form(pieces="1"))
        version = str(box.row_version)
        update_shelf_set(tx, box.id, ShelfSetForm(box_raw(label_od="1.630"), unit=Unit.INCH))
        assert box.label_od == Length.of("1.630")
        tx.session.flush()
    with pytest.raises(Refused, match="while your page was open"), writing() as tx:
        update_shelf_set(tx, box.id, ShelfSetForm(box_raw(row_version=version), unit=Unit.INCH))


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({"part": "", "name": ""}, "part"),
        ({"label_od": "41.2"}, "label_od"),
        ({"label_od": "nan"}, "label_od"),
        ({"label_inside": "1.7"}, "label_inside"),
        ({"material": "cheese"}, "material"),
        ({"alpha_ppm": "-1"}, "alpha_ppm"),
        ({"pieces": "61"}, "pieces"),
        ({"pieces": ""}, "pieces"),
        ({"owner": ""}, "owner"),
    ],
)
def test_a_box_that_cannot_be_is_refused_at_its_field(raw: dict[str, str], field: str) -> None:
    assert field in box_form(**raw).errors


def test_a_ring_without_a_known_coefficient_stays_without_one() -> None:
    assert box_form(material="sintered").alpha_per_k is None
    assert box_form(material="sintered", alpha_ppm="12.5").alpha_per_k == pytest.approx(12.5e-6)


def test_a_wanted_ring_is_ordered_expected_and_arrives(
    database: Database, writing: Writing
) -> None:
    with writing() as tx:
        port = position_row(tx, head_row(tx, job_row(tx)))
        wanted = want_ring(tx, port.id, wanted_form(od_from="1.636"))
        assert (wanted.od_from, wanted.od_to) == (Length.of("1.636"), Length.of("1.636"))
        order_ring(tx, wanted.id, OrderForm({"expected_on": "2026-03-06"}))
        first_ordered = wanted.ordered_at
        order_ring(tx, wanted.id, OrderForm({"expected_on": "2026-03-09", "note": "late"}))
        assert wanted.ordered_at == first_ordered
        arrive_ring(tx, wanted.id)
    with database.read() as session:
        kept = session.exec(select(WantedRing)).one()
        assert str(kept.expected_on) == "2026-03-09"
        assert kept.note == "late"
        assert kept.arrived_at is not None
        verbs = session.exec(select(Event.verb).order_by(col(Event.id))).all()
    assert verbs == ["wanted a ring", "ordered a ring", "ordered a ring", "a wanted ring arrived"]


def test_a_ring_that_arrived_or_was_dropped_is_over(writing: Writing) -> None:
    with writing() as tx:
        port = position_row(tx, head_row(tx, job_row(tx)))
        here = want_ring(tx, port.id, wanted_form(od_from="1.636"))
        gone = want_ring(tx, port.id, wanted_form(note="any oversize"))
        arrive_ring(tx, here.id)
        drop_ring(tx, gone.id, "the head is scrapped")
        assert gone.note == "any oversize · dropped: the head is scrapped"
    for use, words in ((here, "arrived already"), (gone, "not wanted any more")):
        with pytest.raises(Refused, match=words), writing() as tx:
            arrive_ring(tx, use.id)
    with pytest.raises(NotFound), writing() as tx:
        want_ring(tx, 999, wanted_form(od_from="1.636"))


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({}, "od_from"),
        ({"od_from": "1.64", "od_to": "1.63"}, "od_to"),
        ({"od_from": "1.64", "inside": "1.70"}, "inside"),
        ({"od_from": "0"}, "od_from"),
        ({"od_from": "1.64", "height": "9"}, "height"),
    ],
)
def test_a_wanted_ring_that_cannot_be_is_refused(raw: dict[str, str], field: str) -> None:
    assert field in wanted_form(**raw).errors


def box_raw(**raw: str) -> dict[str, str]:
    plain = {
        "unit": "in",
        "part": "SR-14",
        "owner": "shop",
        "label_od": "1.625",
        "label_height": ".250",
        "label_inside": "1.375",
        "material": "grey_iron",
    }
    return {**plain, **raw}


def box_form(**raw: str) -> NewShelfSetForm:
    return NewShelfSetForm({"pieces": "2", **box_raw(**raw)}, unit=Unit.INCH)


def wanted_form(**raw: Any) -> WantedRingForm:
    return WantedRingForm(raw, unit=Unit.INCH)


def ids(tx: Write, ring_set: RingSet) -> list[int]:
    found = select(Ring.id).where(Ring.ring_set_id == ring_set.id).order_by(col(Ring.id))
    return list(tx.session.exec(found))


def tags(tx: Write, ring_set: RingSet) -> list[str]:
    found = select(Ring.tag).where(Ring.ring_set_id == ring_set.id).order_by(col(Ring.id))
    return list(tx.session.exec(found))
