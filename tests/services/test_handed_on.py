"""A note handed on stands at the top until the next person takes it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from sqlmodel import Session

from app.db import Database
from app.forms.ends import EndForm
from app.forms.notes import NoteForm
from app.forms.notices import NoticeForm
from app.models.job import Job, Note
from app.queries.handed_on import handed_on
from app.queries.jobs import show_job
from app.queries.notices import notices_of, short_of_notice
from app.services.ends import end_job
from app.services.notes import take_note, write_note
from app.services.notices import give_notice
from app.services.write import NotFound, Refused, Write
from app.workflow.kinds import NoticeOf
from app.workflow.words import Ended
from tests.services.cast import Cast
from tests.services.conftest import Writing
from tests.services.counter import TODAY, add_shop, described, head_of, new_job, ports_of


@pytest.fixture(autouse=True)
def shop(database: Database) -> None:
    with database.write() as session:
        add_shop(session)


def hand_on(tx: Write, job: Job, **fields: str) -> Note:
    form = NoteForm({"kind": "hand_on", "text": "3E is set, not cut"} | fields)
    assert form.ok, form.errors
    return write_note(tx, job.number, form)


def texts(session: Session, **about: int) -> list[str]:
    return [each.note.text for each in handed_on(session, **about)]


def test_it_shows_by_job_head_and_position_until_taken(writing: Writing, cast: Cast) -> None:
    with writing() as tx:
        job = new_job(tx)
        described(tx, job)
        head = head_of(tx.session, job)
        port = ports_of(tx.session, head)["3E"]
        other = new_job(tx)
        note = hand_on(tx, job, **{"for": str(cast.service_writer.id), "about": f"port-{port.id}"})
    with writing(by=cast.service_writer) as tx:
        session = tx.session
        [found] = handed_on(session, port_id=port.id)
        assert (found.by, found.for_whom, found.about) == ("Max", "Wren", "3E")
        assert texts(session, head_id=head.id) == texts(session, job_id=job.id) == [note.text]
        assert texts(session) == [note.text]
        assert texts(session, job_id=other.id) == []
        taken = take_note(tx, note.id)
        assert taken.by_id == cast.service_writer.id
        assert texts(session, head_id=head.id) == []
        [view] = show_job(session, job, TODAY).notes
        assert (view.for_whom, view.taken_by) == ("Wren", "Wren")
    with pytest.raises(Refused, match="taken already"), writing() as tx:
        take_note(tx, note.id)


def test_a_plain_note_is_not_handed_on(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        note = write_note(tx, job.number, NoteForm({"text": "called"}))
        assert texts(tx.session) == []
    with pytest.raises(NotFound), writing() as tx:
        take_note(tx, note.id)


def test_it_goes_to_a_colleague_or_to_whoever_goes_on(writing: Writing, cast: Cast) -> None:
    with writing() as tx:
        job = new_job(tx)
    for whom, words in ((cast.machinist.id, "is you"), (9999, "does not work here")):
        with pytest.raises(Refused, match=words) as refused, writing() as tx:
            hand_on(tx, job, **{"for": str(whom)})
        assert refused.value.field == "for"
    with writing() as tx:
        assert hand_on(tx, job).for_id is None
    form = NoteForm({"text": "x", "for": "1"})
    assert "Only a note that is handed on" in form.errors["for"]


def test_what_is_over_hands_nothing_on(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        hand_on(tx, job)
        end_job(tx, job.number, EndForm({"ended_as": "scrapped", "note": "cracked"}))
        assert texts(tx.session) == []


# Notices


def notice(today: date = TODAY, **fields: str) -> NoticeForm:
    return NoticeForm({"notice_of": "last", "how": "letter"} | fields, today=today)


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"notice_of": ""}, "notice_of", "Choose what was told"),
        ({"how": ""}, "how", "Choose how"),
        ({"given_on": "+1"}, "given_on", "still to come"),
        ({"until": "0"}, "until", "not after the day"),
        ({"until": ""}, "until", "names the day"),
    ],
)
def test_a_notice_that_cannot_be_is_refused(fields: dict[str, str], field: str, words: str) -> None:
    days = {name: int(text) for name, text in fields.items() if text.strip("+").isdigit()}
    asked = {"until": (TODAY + timedelta(days=30)).isoformat()} | fields
    asked |= {name: (TODAY + timedelta(days=count)).isoformat() for name, count in days.items()}
    assert words in notice(**asked).errors[field]


@pytest.mark.parametrize("end", [Ended.ABANDONED, Ended.SOLD])
def test_a_head_is_not_abandoned_before_its_last_notice_has_run_out(
    writing: Writing, end: Ended
) -> None:
    form = EndForm({"ended_as": end, "note": "nobody came"})
    with writing() as tx:
        job = new_job(tx)
    with pytest.raises(Refused, match="No last notice is on record") as refused, writing() as tx:
        end_job(tx, job.number, form)
    assert refused.value.field == "confirm_notice"
    assert "Local law decides" in refused.value.message
    given = datetime.now(UTC).date() - timedelta(days=40)
    with writing() as tx:
        open_until = (given + timedelta(days=60)).isoformat()
        give_notice(tx, job.number, notice(given, until=open_until))
        tx.session.flush()
        assert "runs until" in short_of_notice(tx.session, job, given + timedelta(days=60))
        assert short_of_notice(tx.session, job, given + timedelta(days=61)) == ""
    with pytest.raises(Refused, match="runs until"), writing() as tx:
        end_job(tx, job.number, form)
    with writing() as tx:
        give_notice(tx, job.number, notice(given, until=(given + timedelta(days=5)).isoformat()))
        assert [each.notice.notice_of for each in notices_of(tx.session, job)] == [
            NoticeOf.LAST
        ] * 2
        assert end_job(tx, job.number, form).ended_as is end


def test_one_touch_says_that_the_law_allows_it(writing: Writing) -> None:
    with writing() as tx:
        raw = {"ended_as": "sold", "note": "court order 3", "confirm_notice": "yes"}
        assert end_job(tx, new_job(tx).number, EndForm(raw)).ended_as is Ended.SOLD


def test_nobody_is_told_to_collect_the_shops_own(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx, kind="shop_stock")
    form = notice(until=(TODAY + timedelta(days=3)).isoformat())
    with pytest.raises(Refused, match="shop's own"), writing() as tx:
        give_notice(tx, job.number, form)
