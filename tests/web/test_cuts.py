"""Cutting and gauging a position, with scripts off."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from httpx2 import Response
from sqlmodel import Session, select
from starlette.testclient import TestClient

from app.db import Database
from app.models.inspection import Inspection
from app.models.job import Job
from app.models.port_pass import Cut, CutOpening, Hold, Verification
from app.models.reading import Reading, ReadingStrike
from app.models.setting import Setting, SettingAdjustment
from app.services.cuts import open_cut
from app.workflow.kinds import Quantity, SettingState
from app.workflow.words import InspectionKind, Outcome
from tests.web.bench import Bench, cells, events, hidden, readings, send, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def stage() -> str:
    """How far the bench is; a test that starts elsewhere says so."""
    return "set"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


def opened(bench: Bench, marek: TestClient, label: str, setting: Setting) -> Response:
    """Touch a position on its own map."""
    return send(
        marek,
        bench.at(label, "cut"),
        setting=str(setting.id),
        touched_port=str(bench.ports[label].id),
    )


def gauge(
    bench: Bench, marek: TestClient, label: str, figures: list[str], to: str = "readings"
) -> Response:
    """Type across, along and depth, and send them."""
    page = marek.get(bench.at(label, "cut"))
    fields = dict(zip(cells(page, "across", "along", "depth"), figures, strict=True))
    return send(marek, bench.at(label, f"cut/{to}"), **hidden(page), **fields)


def count(session: Session, table: type) -> int:
    return len(session.exec(select(table)).all())


# Opening


def test_the_first_position_of_a_clamp_up_is_touched_on_the_map(
    bench: Bench, marek: TestClient
) -> None:
    setting = bench.setting
    page = marek.get(bench.at("2E", "cut"))
    assert "Touch 2E on the head map" in words(page)
    assert "Cut for 2E and 3E only" in words(page)
    untouched = send(marek, bench.at("2E", "cut"), setting=str(setting.id))
    assert untouched.status_code == 409
    assert "Touch 2E on the head map first" in words(untouched)
    answer = opened(bench, marek, "2E", setting)
    assert answer.status_code == 303
    page = marek.get(answer.headers["location"])
    assert "Gauge it, spindle still centred" in words(page)
    assert ".5621" in words(page)  # the depth stop: .3120 + .2501


def test_touching_another_position_on_the_map_opens_nothing(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    answer = send(
        marek,
        bench.at("2E", "cut"),
        setting=str(setting.id),
        touched_port=str(bench.ports["3E"].id),
    )
    assert answer.status_code == 409
    assert "You touched 3E, and this page is for 2E" in words(answer)
    with database.read() as session:
        assert count(session, CutOpening) == 0


def test_a_position_that_the_setting_does_not_name_is_refused_in_words_and_nothing_is_stored(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    with database.read() as session:
        before = events(session)
    page = marek.get(f"{bench.at('4I', 'cut')}?setting={setting.id}")
    assert page.status_code == 200
    assert f"4I is not in setting S-{setting.id} It is for 2E and 3E only" in words(page)
    assert "4I gets no ring (seat only)" in words(page)
    answer = opened(bench, marek, "4I", setting)
    assert answer.status_code == 409
    assert "Cannot be recorded for 4I" in words(answer)
    assert "Nothing was recorded" in words(answer)
    touched = send(
        marek,
        bench.at("2E", "cut"),
        setting=str(setting.id),
        touched_port=str(bench.ports["4I"].id),
    )
    assert "Cannot be recorded for 4I" in words(touched)
    with database.read() as session:
        assert count(session, CutOpening) == count(session, Cut) == 0
        assert events(session) == before


@pytest.mark.parametrize("stage", ["corrected"])
def test_the_next_position_is_carried_along_the_setting_without_a_touch(
    bench: Bench, marek: TestClient
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    gauge(bench, marek, "2E", ["1.6222", "1.6222", ".2501"], to="bored")
    assert "Touch 3E" not in words(marek.get(bench.at("3E", "cut")))
    answer = send(marek, bench.at("3E", "cut"), setting=str(setting.id))
    assert answer.status_code == 303


@pytest.mark.parametrize("stage", ["corrected"])
def test_after_a_pause_the_next_position_is_touched_on_the_map_again(
    bench: Bench, marek: TestClient
) -> None:
    setting = bench.setting
    bench.bore("2E", setting, "1.6222")
    bench.hands.prove(bench.ports["2E"])
    assert "a while since the last touch" in words(marek.get(bench.at("3E", "cut")))
    assert send(marek, bench.at("3E", "cut"), setting=str(setting.id)).status_code == 409


def test_one_press_sent_twice_opens_a_position_once(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    fields = {"setting": str(setting.id), "touched_port": str(bench.ports["2E"].id)}
    for _ in range(2):
        answer = send(marek, bench.at("2E", "cut"), key="a" * 32, **fields)
        assert answer.status_code == 303
    with database.read() as session:
        assert count(session, CutOpening) == 1


def test_two_tablets_do_not_open_one_position_twice(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    assert opened(bench, marek, "2E", setting).status_code == 303
    second = opened(bench, marek, "2E", setting)
    assert second.status_code == 409
    assert "2E is open already" in words(second)
    with database.read() as session:
        assert count(session, CutOpening) == 1


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_bore_that_is_cut_to_size_is_not_opened_again(bench: Bench, marek: TestClient) -> None:
    setting = bench.setting
    bench.bore("2E", setting, "1.6222")
    answer = opened(bench, marek, "2E", setting)
    assert answer.status_code == 409
    assert "2E is cut to size already" in words(answer)


# What stands in the way


def test_a_gate_that_is_shut_is_a_list_of_links_to_where_each_point_is_closed(
    bench: Bench, marek: TestClient
) -> None:
    setting = bench.setting
    with bench.hands.writing() as tx:
        tx.add(
            Inspection(
                head_id=bench.head.id,
                kind=InspectionKind.CRACK,
                outcome=Outcome.NOT_OK,
                method="dye",
                found="crack between 3E and 3I",
                taken_at=tx.at,
                by_id=tx.by_id,
                at=tx.at,
            )
        )
    page = marek.get(bench.at("2E", "cut"))
    assert "still open before metal comes off 2E" in words(page)
    assert f'href="/heads/{bench.head.id}/inspections"' in page.text
    assert "crack between 3E and 3I" in words(page)
    answer = opened(bench, marek, "2E", setting)
    assert answer.status_code == 409
    assert "Still open before metal comes off" in words(answer)


def test_a_setting_read_by_another_person_is_read_once_more_before_it_cuts(
    bench: Bench, marek: TestClient, signed_in_as: SignedInAs
) -> None:
    setting = bench.setting
    odile = signed_in_as("Odile")
    page = odile.get(bench.at("2E", "cut"))
    assert "Read the fixture once more: another person set it" in words(page)
    assert f'href="/settings/{setting.id}"' in page.text
    answer = opened(bench, odile, "2E", setting)
    assert answer.status_code == 409
    assert "another person set it" in words(answer)


@pytest.mark.parametrize("stage", ["bare"])
def test_without_a_clamp_up_the_page_leads_to_it(bench: Bench, marek: TestClient) -> None:
    bench.read_rings()
    setting = bench.set_up()
    page = marek.get(bench.at("2E", "cut"))
    assert "The head is not clamped up" in words(page)
    assert f"/heads/{bench.head.id}/clamp-ups/new?back=" in page.text
    assert opened(bench, marek, "2E", setting).status_code == 409


@pytest.mark.parametrize("stage", ["bare"])
def test_a_position_without_a_setting_leads_to_the_plan(bench: Bench, marek: TestClient) -> None:
    page = marek.get(bench.at("2E", "cut"))
    assert "No setting names 2E yet" in words(page)
    assert f'href="/jobs/{bench.job.number}/plan"' in page.text


@pytest.mark.parametrize("stage", ["bare"])
def test_the_quill_runs_out_of_travel_before_metal_comes_off(
    bench: Bench, marek: TestClient
) -> None:
    bench.read_rings()
    setting = bench.set_up()
    bench.hands.clamp(bench.head, bench.machine.id, travel=".200")
    page = marek.get(bench.at("2E", "cut"))
    assert "The quill runs out of travel" in words(page)
    assert opened(bench, marek, "2E", setting).status_code == 409


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_setting_says_what_is_left_to_cut_and_apart_from_it_what_is_cut(
    bench: Bench, marek: TestClient
) -> None:
    bench.bore("2E", bench.setting, "1.6222")
    told = words(marek.get(bench.at("3E", "cut")))
    assert "Cut for 3E only. Cut already: 2E." in told


# Opened and nothing recorded


@pytest.fixture
def left_open(bench: Bench) -> Setting:
    """2E was opened twenty minutes ago, and then the power went."""
    setting = bench.setting
    with bench.hands.writing() as tx:
        open_cut(tx, bench.ports["2E"], setting.id, was_touched=True)
    return setting


def test_after_a_power_cut_the_page_asks_whether_it_was_cut(
    left_open: Setting, bench: Bench, marek: TestClient
) -> None:
    page = words(marek.get(bench.at("2E", "cut")))
    assert "You opened 2E at" in page
    assert "recorded nothing: was it cut?" in page


def test_what_was_opened_and_not_cut_is_said_so_and_may_be_opened_again(
    left_open: Setting, bench: Bench, marek: TestClient
) -> None:
    assert send(marek, bench.at("2E", "cut/not-cut")).status_code == 303
    page = words(marek.get(bench.at("2E", "cut")))
    assert "was it cut?" not in page
    assert opened(bench, marek, "2E", left_open).status_code == 303


def test_what_was_cut_after_all_is_gauged_from_the_same_page(
    left_open: Setting, bench: Bench, marek: TestClient, database: Database
) -> None:
    assert gauge(bench, marek, "2E", ["1.6205", "1.6205", ""]).status_code == 303
    with database.read() as session:
        assert count(session, Cut) == 1
    assert "First pass, under size on purpose" in words(marek.get(bench.at("2E", "cut")))


# Gauging


@pytest.mark.parametrize("stage", ["corrected"])
def test_the_next_button_waits_for_the_readings_that_are_missing(
    bench: Bench, marek: TestClient
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    assert gauge(bench, marek, "2E", ["1.6222", "", ""]).status_code == 303
    page = marek.get(bench.at("2E", "cut"))
    assert "Open: one more bore reading · depth" in words(page)
    assert "Clear of both limits by these readings. Still wanted" in words(page)
    refused = gauge(bench, marek, "2E", ["1.6222", "", ""], to="bored")
    assert refused.status_code == 409
    assert "2E is not proved yet" in words(refused)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("1.62.22", "'1.62.22'"),
        ("nan", "'nan'"),
        ("-1.6222", "cannot be negative"),
        ("41.2", "Was it typed in another unit?"),
        ("9" * 39, "Was it typed in another unit?"),
    ],
)
@pytest.mark.parametrize("stage", ["corrected"])
def test_a_figure_that_cannot_be_is_named_at_its_field_and_all_is_kept(
    bench: Bench, marek: TestClient, database: Database, typed: str, told: str
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    with database.read() as session:
        before = readings(session)
    answer = gauge(bench, marek, "2E", [typed, "1.6222", ".2501"])
    assert answer.status_code == 422
    assert 'aria-invalid="true"' in answer.text
    assert f'value="{typed}"' in answer.text
    assert 'value="1.6222"' in answer.text
    assert 'value=".2501"' in answer.text
    with database.read() as session:
        assert readings(session) == before
        assert count(session, Cut) == 1  # the first pass alone


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_repeated_sending_keeps_each_reading_once(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    page = marek.get(bench.at("2E", "cut"))
    fields = dict(
        zip(cells(page, "across", "along", "depth"), ["1.6222", "1.6222", ".2501"], strict=True)
    )
    with database.read() as session:
        before = readings(session)
    for _ in range(2):
        answer = send(marek, bench.at("2E", "cut/readings"), key="b" * 32, **fields)
        assert answer.status_code == 303
    with database.read() as session:
        assert readings(session) == before + 3


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_reading_kept_as_it_is_typed_answers_with_the_verdict_and_what_stands_in_the_record(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    page = marek.get(bench.at("2E", "cut"))
    across, along, depth = cells(page, "across", "along", "depth")
    partial = {"HX-Request-Type": "partial"}
    url, key = bench.at("2E", "cut/readings"), "d" * 32
    first = marek.post(url, data={"client_key": key, across: "1.6222"}, headers=partial)
    assert first.status_code == 200
    assert "<html" not in first.text
    assert f'data-settled="{across}"' in first.text
    assert list(hidden(first)) == [f"had.{across}"]
    assert "1 reading kept" in words(first)
    # The next figure may leave before the answer to the first has arrived.
    typed = {across: "1.6222", along: "1.6223"}
    second = marek.post(url, data={"client_key": key, **typed}, headers=partial)
    assert "2 readings kept" in words(second)
    wrong = marek.post(url, data={"client_key": key, **typed, depth: "deep"}, headers=partial)
    assert wrong.status_code == 422
    assert "'deep'" in words(wrong)


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_live_answer_tells_what_another_tablet_kept_and_takes_nothing_out(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    opened(bench, marek, "2E", bench.setting)
    page = marek.get(bench.at("2E", "cut"))
    across, along, depth = cells(page, "across", "along", "depth")
    partial, url = {"HX-Request-Type": "partial"}, bench.at("2E", "cut/readings")
    send(marek, url, **{depth: ".2501"})  # another tablet
    marek.post(url, data={"client_key": "e" * 32, across: "1.6222", depth: ""}, headers=partial)
    live = marek.post(url, data={"client_key": "f" * 32, along: "1.6223"}, headers=partial)
    assert re.search(rf'<data value="{re.escape(depth)}"[^>]*>\.2501</data>', live.text)
    assert "3 readings kept" in words(marek.get(bench.at("2E", "cut")))
    with database.read() as session:
        assert count(session, ReadingStrike) == 0


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_bore_gauged_after_the_head_was_clamped_up_anew_is_not_called_centred(
    bench: Bench, marek: TestClient
) -> None:
    opened(bench, marek, "2E", bench.setting)
    before = words(marek.get(bench.at("2E", "cut")))
    assert "Gauge it, spindle still centred" in before
    assert "As it is set the gauge should read" in before
    bench.clamp()
    after = words(marek.get(bench.at("2E", "cut")))
    assert "Gauge it as it stands" in after
    assert "The spindle was elsewhere since: gauge bore and depth cold." in after
    assert "still centred" not in after
    assert "As it is set" not in after


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_setting_that_lapsed_under_a_clamped_head_does_not_say_the_spindle_was_elsewhere(
    bench: Bench, marek: TestClient, signed_in_as: Callable[[str], TestClient]
) -> None:
    opened(bench, marek, "2E", bench.setting)
    # Odile takes over: she did not set the cutter, and nothing moved.
    page = words(signed_in_as("Odile").get(bench.at("2E", "cut")))
    assert "The setting is to be read again before it cuts; the head is still clamped." in page
    assert "elsewhere" not in page
    assert "As it is set the gauge should read" not in page


@pytest.mark.parametrize("stage", ["set"])
def test_an_old_link_says_that_its_setting_was_replaced_and_links_the_new_one(
    bench: Bench, marek: TestClient
) -> None:
    old = bench.setting
    new = bench.set_up()
    at = bench.at("2E", "cut")
    page = marek.get(f"{at}?setting={old.id}")
    assert f"Setting S-{old.id} was replaced by S-{new.id} for 2E" in words(page)
    assert f'href="/settings/{new.id}"' in page.text
    opened(bench, marek, "2E", new)
    page = marek.get(f"{at}?setting={old.id}")
    assert f"Setting S-{old.id} was replaced. 2E goes by setting S-{new.id}" in words(page)
    assert f'href="{at}?setting={new.id}"' in page.text
    assert "Gauge it, spindle still centred" in words(page)


@pytest.mark.parametrize("stage", ["corrected"])
def test_more_heights_show_a_taper(bench: Bench, marek: TestClient) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    page = marek.get(bench.at("2E", "cut"))
    names = cells(page, ".across", ".along", "depth", "across-floor", "along-floor")
    figures = ["1.6224", "1.6224", ".2501", "1.6218", "1.6218"]
    fields = dict(zip(names, figures, strict=True))
    assert send(marek, bench.at("2E", "cut/readings"), **fields).status_code == 303
    assert "tapered by .0006, allowed .0005" in words(marek.get(bench.at("2E", "cut")))


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_bore_is_proved_and_the_page_goes_on_to_the_next_of_the_setting(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    answer = gauge(bench, marek, "2E", ["1.6222", "1.6222", ".2501"], to="bored")
    assert answer.status_code == 303
    assert answer.headers["location"] == f"{bench.at('3E', 'cut')}?setting={setting.id}"
    page = words(marek.get(answer.headers["location"]))
    assert "2E is bored: interference .00395, by these readings." in page
    assert "carried along" in page
    with database.read() as session:
        assert count(session, Verification) == 1
        assert count(session, Hold) == 0


@pytest.mark.parametrize("stage", ["corrected"])
def test_proving_sent_twice_proves_once(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    page = marek.get(bench.at("2E", "cut"))
    names = cells(page, "across", "along", "depth")
    fields = dict(zip(names, ["1.6222", "1.6222", ".2501"], strict=True))
    for _ in range(2):
        answer = send(marek, bench.at("2E", "cut/bored"), key="c" * 32, **fields)
        assert answer.status_code == 303
    with database.read() as session:
        assert count(session, Verification) == 1


@pytest.mark.parametrize("stage", ["corrected"])
def test_near_an_edge_the_page_asks_once_to_read_again(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    asked = gauge(bench, marek, "2E", ["1.6230", "1.6230", ".2501"], to="bored")
    assert asked.status_code == 422
    assert "Close to the edge, read again?" in words(asked)
    assert 'name="confirm_edge" value="yes"' in asked.text
    page = marek.get(bench.at("2E", "cut"))
    answer = send(marek, bench.at("2E", "cut/bored"), confirm_edge="yes", **hidden(page))
    assert answer.status_code == 303
    with database.read() as session:
        assert count(session, Verification) == 1


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_reading_apart_from_the_other_is_struck_or_kept_before_anything_is_worked_from_it(
    bench: Bench, marek: TestClient
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    gauge(bench, marek, "2E", ["1.6222", "1.6242", ".2501"])
    page = marek.get(bench.at("2E", "cut"))
    assert "1.6242 stands apart" in words(page)
    assert "Open: 1.6242 in doubt" in words(page)
    doubt = page.text.split('id="doubt-')[1].split('"')[0]
    unexplained = send(marek, bench.at("2E", f"cut/readings/{doubt}/strike"))
    assert unexplained.status_code == 422
    assert "Say why it no longer counts" in words(unexplained)
    struck = send(marek, bench.at("2E", f"cut/readings/{doubt}/strike"), reason="chip in the bore")
    assert struck.status_code == 303
    assert "one more bore reading" in words(marek.get(bench.at("2E", "cut")))


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_reading_of_another_position_is_not_struck_from_here(
    bench: Bench, marek: TestClient
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    gauge(bench, marek, "2E", ["1.6222", "1.6242", ".2501"])
    doubt = marek.get(bench.at("2E", "cut")).text.split('id="doubt-')[1].split('"')[0]
    answer = send(marek, bench.at("3E", f"cut/readings/{doubt}/strike"), reason="not mine")
    assert answer.status_code in (404, 409)
    assert "There is no such reading at this position" in words(answer)


def test_a_bore_far_over_the_size_set_is_asked_about_once(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    gauge(bench, marek, "2E", ["1.6229", "1.6229", ""])
    asked = send(marek, bench.at("2E", "cut/correct"))
    assert asked.status_code == 422
    assert "Radius read as diameter" in words(asked)
    with database.read() as session:
        assert session.get_one(Setting, setting.id).state is SettingState.LIVE
    answer = send(marek, bench.at("2E", "cut/correct"), confirm_odd_overcut="yes")
    assert answer.status_code == 303


# Correcting


def test_a_first_pass_is_followed_by_a_correction_and_the_same_position_to_size(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    gauge(bench, marek, "2E", ["1.6205", "1.6205", ""])
    assert "Correct the setting" in words(marek.get(bench.at("2E", "cut")))
    answer = send(marek, bench.at("2E", "cut/correct"))
    assert answer.headers["location"] == f"/settings/{setting.id}"
    assert "The setting is worked out again" in words(marek.get(bench.at("2E", "cut")))
    with database.read() as session:
        corrected = session.get_one(Setting, setting.id)
        assert corrected.overcut.inches(4) == ".0005"  # the whole error: nothing was known before
    bench.hands.set_to(setting)
    assert opened(bench, marek, "2E", setting).status_code == 303
    page = marek.get(bench.at("2E", "cut"))
    assert [part.split('"')[0] for part in page.text.split('class="read" id="')[1:4]]
    assert 'value="1.6205"' not in page.text  # what was read before says nothing of this bore
    answer = gauge(bench, marek, "2E", ["1.6222", "1.6222", ".2501"], to="bored")
    assert answer.status_code == 303
    with database.read() as session:
        assert count(session, Cut) == 2


def test_a_correction_sent_from_an_old_page_is_not_taken_twice(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    opened(bench, marek, "2E", setting)
    gauge(bench, marek, "2E", ["1.6205", "1.6205", ""])
    assert send(marek, bench.at("2E", "cut/correct")).status_code == 303
    again = send(marek, bench.at("2E", "cut/correct"))
    assert again.status_code == 409
    assert "its next bore says more than this one" in words(again)


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_bore_where_it_was_expected_leaves_the_cutter_alone(
    bench: Bench, marek: TestClient
) -> None:
    setting = bench.setting
    bench.bore("2E", setting, "1.6222")
    bench.hands.prove(bench.ports["2E"])
    page = words(marek.get(bench.at("2E", "cut")))
    assert "leave the cutter alone" in page
    assert "Correct the setting" not in page
    # Nothing is signed yet, so nothing is known of the tip.
    assert "by signed bores: none yet" in page


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_good_bore_away_from_what_was_expected_corrects_the_next_by_a_part_only(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    bench.bore("2E", setting, "1.6226")
    bench.hands.prove(bench.ports["2E"], True)
    page = words(marek.get(bench.at("2E", "cut")))
    assert "takes only 1/2 of it" in page
    with database.read() as session:
        before = session.get_one(Setting, setting.id).overcut
        achieved = session.exec(select(SettingAdjustment)).all()[-1]
        error = bench_size("1.6226") - achieved.expected_bore.nm
    assert send(marek, bench.at("2E", "cut/correct")).status_code == 303
    with database.read() as session:
        moved = session.get_one(Setting, setting.id).overcut - before
    assert abs(moved.nm - error / 2) <= 1


def bench_size(text: str) -> int:
    """Nanometres of a size in inches."""
    whole, _, part = text.partition(".")
    return int(whole + part.ljust(4, "0")) * 2540


# The map


def test_the_map_is_turned_as_the_head_lies_and_the_turn_is_kept(
    bench: Bench, marek: TestClient
) -> None:
    answer = send(marek, f"/heads/{bench.head.id}/turn", turned="90", back=bench.at("2E", "cut"))
    assert answer.status_code == 303
    assert answer.headers["location"] == bench.at("2E", "cut")
    page = marek.get(bench.at("2E", "cut"))
    assert 'class="bench bench-down"' in page.text
    assert "2I above it gets no ring" in words(page)
    odd = send(marek, f"/heads/{bench.head.id}/turn", turned="45")
    assert odd.status_code == 422


def test_the_counter_may_look_and_not_cut(
    bench: Bench, signed_in_as: SignedInAs, database: Database
) -> None:
    setting = bench.setting
    wilma = signed_in_as("Wilma")
    assert wilma.get(bench.at("2E", "cut")).status_code == 200
    assert opened(bench, wilma, "2E", setting).status_code == 403
    with database.read() as session:
        assert count(session, CutOpening) == 0


def test_nothing_is_cut_on_a_job_that_is_over(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    setting = bench.setting
    with database.write() as session:
        job = session.get_one(Job, bench.job.id)
        job.voided_at = bench.hands.at + timedelta(minutes=1)
        session.add(job)
    answer = opened(bench, marek, "2E", setting)
    assert answer.status_code == 409
    assert "nothing more is changed on it" in words(answer)


@pytest.mark.parametrize("stage", ["bored"])
@pytest.mark.parametrize("verb", ["strike", "keep"])
def test_no_bore_reading_is_struck_or_kept_on_a_job_that_is_over(
    verb: str, bench: Bench, marek: TestClient, database: Database
) -> None:
    with database.write() as session:
        job = session.get_one(Job, bench.job.id)
        job.voided_at = bench.hands.at + timedelta(minutes=1)
        session.add(job)
        bore = session.exec(select(Reading.id).where(Reading.quantity == Quantity.BORE)).first()
    answer = send(marek, bench.at("2E", f"cut/readings/{bore}/{verb}"), reason="slipped")
    assert answer.status_code == 409
    assert "nothing more is changed on it" in words(answer)


def test_an_unknown_position_is_a_page_that_says_so(marek: TestClient) -> None:
    answer = marek.get("/positions/999999/cut")
    assert answer.status_code == 404
    assert "There is no such position" in words(answer)
