"""One cut is left out of a tip's mean: with a reason, once, and never of an older tip."""

from __future__ import annotations

import pytest

from app.forms.overcut import LeaveOutForm
from app.models.crib import Cutter
from app.models.port_pass import OvercutSample
from app.queries.drift import drifting
from app.queries.overcut import leaving_out, overcut_records
from app.services.cutters import change_tip, create_cutter
from app.services.overcut import leave_out_cut
from app.services.write import NotFound, Refused, Write
from tests.services.bench_rows import job_row, live_setting_row, overcut_row
from tests.services.conftest import Writing
from tests.services.test_crib import cutter_form

STEADY = ("1.6221", "1.6222", "1.6221", "1.6220", "1.6221", "1.6222", "1.6220", "1.6221")


def cut(tx: Write, *sizes: str) -> tuple[Cutter, list[OvercutSample]]:
    cutter = create_cutter(tx, cutter_form(name="Head 2"))
    job = job_row(tx)
    setting = live_setting_row(tx, job, cutter.id)
    return cutter, [overcut_row(tx, job, setting, size, seq) for seq, size in enumerate(sizes, 1)]


def test_a_cut_left_out_teaches_nothing_and_stays_on_the_record(writing: Writing) -> None:
    with writing() as tx:
        cutter, samples = cut(tx, *STEADY, "1.6240")
    with writing() as tx:
        leave_out_cut(tx, cutter.id, samples[-1].id, "chip under the gauge")
        [record] = overcut_records(tx.session, cutter, "in")
    assert record.now is not None
    assert record.now.learned is not None
    assert record.now.learned.mean.inches(4) == ".0003"
    assert record.now.cuts[-1].left_out == "chip under the gauge"
    assert [each.nth for each in record.now.cuts] == [1, 2, 3, 4, 5, 6, 7, 8, None]


def test_a_page_shows_the_mean_with_and_without_it(writing: Writing) -> None:
    with writing() as tx:
        cutter, samples = cut(tx, "1.6221", "1.6223")
        found = leaving_out(tx.session, cutter, samples[1].id)
    assert found is not None
    assert (found.mean, found.without, found.count) == (".00040", ".00030", 2)


def test_a_cut_is_left_out_once(writing: Writing) -> None:
    with writing() as tx:
        cutter, samples = cut(tx, *STEADY)
    with writing() as tx:
        leave_out_cut(tx, cutter.id, samples[0].id, "chatter")
    with pytest.raises(Refused, match="left out already: chatter"), writing() as tx:
        leave_out_cut(tx, cutter.id, samples[0].id, "chatter")


def test_a_cut_of_an_older_tip_or_of_another_cutter_is_refused(writing: Writing) -> None:
    with writing() as tx:
        cutter, samples = cut(tx, *STEADY)
        other = create_cutter(tx, cutter_form(name="Head 3"))
    with pytest.raises(NotFound), writing() as tx:
        leave_out_cut(tx, other.id, samples[0].id, "chatter")
    with writing() as tx:
        change_tip(tx, cutter.id, "new insert")
    with pytest.raises(Refused, match="changed or ground since"), writing() as tx:
        leave_out_cut(tx, cutter.id, samples[0].id, "chatter")


def test_the_office_names_cutters_that_drift_and_no_others(writing: Writing) -> None:
    with writing() as tx:
        cut(tx, *STEADY)
        assert drifting(tx.session) == []
    with writing() as tx:
        cutter = create_cutter(tx, cutter_form(name="Head 4"))
        job = job_row(tx, seq=2)
        setting = live_setting_row(tx, job, cutter.id)
        sizes = ("1.6221", "1.6221", "1.6222", "1.6221", "1.6222", "1.6224", "1.6226", "1.6228")
        for seq, size in enumerate((*sizes, "1.6230", "1.6232"), 1):
            overcut_row(tx, job, setting, size, 100 + seq)
        [line] = drifting(tx.session)
    assert (line.cutter.name, line.sign, line.count) == ("Head 4", "7 in a row grow", 10)
    with writing() as tx:
        change_tip(tx, cutter.id, "ground")
        assert drifting(tx.session) == []


def test_another_reason_is_said_in_words() -> None:
    assert not LeaveOutForm({"why": "other"}).ok
    assert LeaveOutForm({"why": "chip", "words": "seen after"}).reason == (
        "a chip under the gauge: seen after"
    )
    assert not LeaveOutForm({}).ok
