"""Work and present seat, decided for a whole head in one run."""

from __future__ import annotations

import pytest

from app.db import Database
from app.forms.positions import had
from app.services.write import Refused
from app.workflow.words import SeatNow, Work
from tests.services.conftest import Writing
from tests.services.counter import add_shop, decide, described, new_job, ports_of


@pytest.fixture(autouse=True)
def shop(database: Database) -> None:
    with database.write() as session:
        add_shop(session)


def test_two_touches_decide_a_whole_head(writing: Writing) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        decide(tx, head, quick="exhausts:ring")
        decide(tx, head, quick="rest:seat_only")
        works = {label: port.work for label, port in ports_of(tx.session, head).items()}
        assert {works[label] for label in ("1E", "2E", "3E", "4E")} == {Work.RING}
        assert {works[label] for label in ("1I", "2I", "3I", "4I")} == {Work.SEAT_ONLY}


def test_what_was_chosen_goes_with_the_quick_touch(writing: Writing) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        decide(tx, head, work_4E="leave", work_2E="ring", quick="rest:seat_only")
        ports = ports_of(tx.session, head)
        assert (ports["4E"].work, ports["2E"].work) == (Work.LEAVE, Work.RING)
        assert ports["1E"].work is Work.SEAT_ONLY


def test_the_rest_of_the_seats_are_those_not_known(writing: Writing) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        decide(tx, head, seat_3E="missing")
        decide(tx, head, quick="rest:casting")
        ports = ports_of(tx.session, head)
        assert ports["3E"].seat_now is SeatNow.MISSING
        assert ports["1E"].seat_now is SeatNow.CASTING


def test_two_pages_at_once_are_merged(writing: Writing) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        old = had(Work.UNDECIDED, None)
        decide(tx, head, work_1E="ring", had_1E=old)
        # The second page still shows 1E undecided, but touched only 2E.
        decide(tx, head, work_1E="undecided", had_1E=old, work_2E="leave", had_2E=old)
        ports = ports_of(tx.session, head)
        assert (ports["1E"].work, ports["2E"].work) == (Work.RING, Work.LEAVE)


def test_two_pages_that_clash_are_told_where(writing: Writing) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        decide(tx, head, work_1E="ring", had_1E=had(Work.UNDECIDED, None))
    with pytest.raises(Refused, match="1E"), writing() as tx:
        decide(tx, head, work_1E="leave", had_1E=had(Work.UNDECIDED, None))
    with writing() as tx:
        assert ports_of(tx.session, head)["1E"].work is Work.RING
