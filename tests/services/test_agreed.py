"""What is agreed and said of a job: consent, prices, parts, waiting, notes, ends."""

from __future__ import annotations

from datetime import date

import pytest
from sqlmodel import select

from app.db import Database
from app.forms.consents import ConsentForm
from app.forms.customers import CustomerForm
from app.forms.ends import EndForm, VoidForm
from app.forms.notes import NoteForm
from app.forms.price_lines import PriceLineForm
from app.forms.received import ReceivedForm
from app.forms.waiting import WaitingForm
from app.models.job import Job, Note, PriceLine
from app.queries.counter import Show, ended_jobs, open_jobs
from app.queries.history import history
from app.queries.jobs import show_job
from app.queries.received import counted
from app.services.consents import give_consent
from app.services.customers import update_customer
from app.services.ends import end_job, take_up_again, void_job
from app.services.jobs import take_in_job
from app.services.notes import write_note
from app.services.owned import zone_of
from app.services.price_lines import add_price_line, void_price_line
from app.services.received import count_received
from app.services.waiting import start_waiting, stop_waiting
from app.services.write import NotFound, Refused, Write
from app.workflow.words import Ended, Page, Waiting
from tests.services.conftest import Writing
from tests.services.counter import (
    TODAY,
    add_shop,
    decide,
    described,
    head_of,
    job_form,
    new_job,
    ports_of,
)


@pytest.fixture(autouse=True)
def shop(database: Database) -> None:
    with database.write() as session:
        add_shop(session)


def consent(**fields: str) -> ConsentForm:
    form = ConsentForm({"name": "Dana Field", "how": "phone"} | fields, today=TODAY)
    assert form.ok, form.errors
    return form


def waiting(**fields: str) -> WaitingForm:
    raw = {"waiting": "parts", "waiting_for": "exhaust rings"}
    return WaitingForm(raw | fields, today=TODAY)


def counts(tx: Write, job: Job, **fields: str) -> Job:
    form = ReceivedForm(fields)
    assert form.ok, form.errors
    return count_received(tx, job.number, form)


def test_the_newest_consent_counts_and_earlier_ones_stay(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        give_consent(tx, job.number, consent(limit="400"))
        give_consent(tx, job.number, consent(limit="640.50"))
        view = show_job(tx.session, job, TODAY)
        assert view.consent is not None
        assert view.consent.limit_amount == 64050
        assert [each.limit_amount for each in view.earlier_consents] == [40000]


def test_shop_stock_needs_nobodys_consent(writing: Writing) -> None:
    with writing() as tx:
        job = take_in_job(tx, job_form(kind="shop_stock", customer=""))
    with pytest.raises(Refused), writing() as tx:
        give_consent(tx, job.number, consent())


def test_standing_authority_is_a_trade_customers_and_has_its_limit(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
    with pytest.raises(Refused) as refused, writing() as tx:
        give_consent(tx, job.number, consent(how="standing"))
    assert refused.value.field == "how"
    with writing() as tx:
        form = CustomerForm({"name": "Lane", "is_trade": "yes", "standing_limit": "500"})
        update_customer(tx, job.customer_id or 0, form)
    with pytest.raises(Refused) as refused, writing() as tx:
        give_consent(tx, job.number, consent(how="standing", limit="500.01"))
    assert refused.value.field == "limit"
    with writing() as tx:
        assert give_consent(tx, job.number, consent(how="standing", limit="500")).id


def test_the_total_is_held_against_the_limit(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        add_price_line(tx, job.number, PriceLineForm({"text": "two seat rings", "amount": "480"}))
        extra = add_price_line(
            tx, job.number, PriceLineForm({"text": "pressure test", "amount": "200.25"})
        )
        give_consent(tx, job.number, consent(limit="640"))
        view = show_job(tx.session, job, TODAY)
        assert (view.total, view.over_limit) == (68025, 4025)
        void_price_line(tx, job.number, extra.id)
        view = show_job(tx.session, job, TODAY)
        assert (view.total, view.over_limit) == (48000, 0)
        assert len(tx.session.exec(select(PriceLine)).all()) == 2
    with pytest.raises(Refused), writing() as tx:
        void_price_line(tx, job.number, extra.id)


def test_a_discount_takes_off_what_stands_and_no_more(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        ring = add_price_line(tx, job.number, PriceLineForm({"text": "ring", "amount": "95"}))
    for amount in ("-95.01", "-99999999"):
        off = PriceLineForm({"text": "discount", "amount": amount})
        with pytest.raises(Refused, match="less than nothing") as refused, writing() as tx:
            add_price_line(tx, job.number, off)
        assert refused.value.field == "amount"
    with writing() as tx:
        off = PriceLineForm({"text": "discount", "amount": "-20"})
        add_price_line(tx, job.number, off)
        assert show_job(tx.session, job, TODAY).total == 7500
    with pytest.raises(Refused, match="less than nothing"), writing() as tx:
        void_price_line(tx, job.number, ring.id)


def test_a_yes_that_is_missing_shows_on_the_counter_since_when(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        head = described(tx, job)
        decide(tx, head, quick="rest:seat_only")
        [line] = open_jobs(tx.session, TODAY, Show.WAITING).lines
        assert line.status.asks == "a yes to the work"
        assert line.asked_since == job.taken_in_at.astimezone(zone_of(tx.session)).date()
        give_consent(tx, job.number, consent(limit="100"))
        assert open_jobs(tx.session, TODAY, Show.WAITING).lines == ()
        add_price_line(tx, job.number, PriceLineForm({"text": "rings", "amount": "180"}))
    with writing() as tx:
        [line] = open_jobs(tx.session, TODAY, Show.WAITING).lines
        assert line.status.asks == "a yes to 80.00 more"
        assert "is needed before metal comes off, since" in line.status.sentence


def test_the_history_names_a_struck_price_line(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        line = add_price_line(tx, job.number, PriceLineForm({"text": "two rings", "amount": "480"}))
        void_price_line(tx, job.number, line.id)
    with writing() as tx:
        newest = history(tx.session, job.id)[0]
        assert (newest.words, newest.figures) == ("struck a price line", "two rings, 480.00")


def test_a_line_of_another_job_is_not_struck(writing: Writing) -> None:
    with writing() as tx:
        line = add_price_line(
            tx, new_job(tx).number, PriceLineForm({"text": "ring", "amount": "1"})
        )
        other = new_job(tx)
    with pytest.raises(NotFound), writing() as tx:
        void_price_line(tx, other.number, line.id)


def test_parts_are_counted_and_the_newest_count_holds(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        counts(tx, job, pieces_0="8", other_0="valve caps", other_pieces_0="4")
        counts(tx, job, pieces_0="7")
        counts(tx, job, way="out", pieces_0="7")
        assert counted(tx.session, job.id, is_out=False) == {"valves": 7, "valve caps": 4}
        assert counted(tx.session, job.id, is_out=True) == {"valves": 7}


def test_a_bare_head_is_an_answer_too(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        counts(tx, job, nothing="yes")
        assert counted(tx.session, job.id, is_out=False) == {"nothing": 0}
        counts(tx, job, pieces_0="8")
    with pytest.raises(Refused) as refused, writing() as tx:
        counts(tx, job, nothing="yes")
    assert refused.value.field == "nothing"


def test_parts_that_came_are_not_waved_out_as_nothing(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        counts(tx, job, pieces_0="8")
    with pytest.raises(Refused), writing() as tx:
        counts(tx, job, way="out", nothing="yes")


def test_a_job_waits_and_stops_waiting(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        start_waiting(tx, job.number, waiting(since="2026-11-20", expected_on="2026-12-01"))
        assert job.waiting is Waiting.PARTS
        assert job.waiting_since is not None
        assert job.waiting_since.date() == date(2026, 11, 20)
        stop_waiting(tx, job.number)
        assert (job.waiting, job.waiting_for, job.waiting_until) == (None, "", None)
    with pytest.raises(Refused), writing() as tx:
        stop_waiting(tx, job.number)


def test_notes_stand_on_job_head_and_position(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        head = described(tx, job)
        port = ports_of(tx.session, head)["3E"]
        write_note(tx, job.number, NoteForm({"text": "rings in a box"}))
        write_note(tx, job.number, NoteForm({"text": "welded once", "about": f"head-{head.id}"}))
        note = write_note(tx, job.number, NoteForm({"text": "sunk", "about": f"port-{port.id}"}))
        assert (note.head_id, note.port_id) == (head.id, port.id)
        assert [each.about for each in show_job(tx.session, job, TODAY).notes] == ["3E", "", ""]


def test_a_note_is_not_put_on_another_jobs_head(writing: Writing) -> None:
    with writing() as tx:
        job, other = new_job(tx), new_job(tx)
        head = head_of(tx.session, other)
    with pytest.raises(Refused) as refused, writing() as tx:
        write_note(tx, job.number, NoteForm({"text": "x", "about": f"head-{head.id}"}))
    assert refused.value.field == "about"


@pytest.mark.parametrize("end", [each for each in Ended if each is not Ended.HANDED_OVER])
def test_a_job_ends_in_other_ways_and_then_stays_as_it_ended(writing: Writing, end: Ended) -> None:
    with writing() as tx:
        job = new_job(tx)
        end_job(
            tx,
            job.number,
            EndForm({"ended_as": end, "note": "cracked through", "confirm_notice": "yes"}),
        )
        assert job.ended_as is end
    with pytest.raises(Refused), writing() as tx:
        start_waiting(tx, job.number, waiting())
    with writing() as tx:
        write_note(tx, job.number, NoteForm({"text": "asked for it back"}))
        assert len(tx.session.exec(select(Note)).all()) == 1
        assert take_up_again(tx, job.number).ended_as is None


def test_the_hand_over_is_not_one_of_the_other_ends() -> None:
    form = EndForm({"ended_as": "handed_over", "note": "done"})
    assert "ended_as" in form.errors


def test_a_job_opened_by_mistake_is_void_and_keeps_its_number(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        void_job(tx, job.number, VoidForm({"because": "typed twice"}))
        assert job.voided_at is not None
        assert new_job(tx).seq == job.seq + 1
        assert job.id not in [line.job.id for line in open_jobs(tx.session, TODAY).lines]
        assert job.id in [line.job.id for line in ended_jobs(tx.session, TODAY, None).lines]


def test_late_and_waiting_come_first_on_the_counter(writing: Writing) -> None:
    with writing() as tx:
        plain = new_job(tx, promise="2026-11-30")
        soon = new_job(tx, promise="2026-11-26")
        waits = new_job(tx)
        late = new_job(tx, promise="2026-11-25")
        start_waiting(tx, waits.number, waiting())
        late.promised_on = date(2026, 11, 20)
        tx.session.add(late)
        tx.session.flush()
        listed = open_jobs(tx.session, TODAY)
        numbers = [line.job.number for line in listed.lines]
        assert numbers == [each.number for each in (late, waits, soon, plain)]
        assert listed.counts[Show.LATE] == listed.counts[Show.WAITING] == 1
        [line] = open_jobs(tx.session, TODAY, Show.LATE).lines
        assert line.job.id == late.id
        assert "5 days late" in line.status.sentence


def test_the_next_step_goes_from_description_to_work_to_consent_to_the_bench(
    writing: Writing,
) -> None:
    with writing() as tx:
        job = new_job(tx)
        pages: list[Page | None] = []

        def note() -> None:
            step = show_job(tx.session, job, TODAY).next
            pages.append(step.page if step else None)

        note()
        head = described(tx, job, casting="HL-4410-B", material="grey_iron")
        note()
        decide(tx, head, quick="exhausts:ring")
        decide(tx, head, quick="rest:seat_only")
        note()
        give_consent(tx, job.number, consent())
        note()
        end_job(tx, job.number, EndForm({"ended_as": "cancelled", "note": "sold"}))
        note()
        assert pages[:3] == [Page.LAYOUT, Page.POSITIONS, Page.CONSENT]
        assert pages[3] in (Page.INSPECTIONS, Page.STEM_HEIGHTS, Page.GUIDES)
        assert pages[4] is None
