"""A setting's page: what to set, what it reads, where it goes on."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from httpx2 import Response
from sqlmodel import select
from starlette.testclient import TestClient

from app.forms.crib import FixtureForm
from app.models.setting import Setting, SettingAdjustment
from app.services.cutters import change_tip
from app.services.fixtures import create_fixture
from app.workflow.kinds import SettingState
from tests.web.bench import Bench, send, words

SignedIn = Callable[[str], TestClient]


@pytest.fixture
def stage() -> str:
    """2E and 3E have their rings read; nothing is set."""
    return "read"


def made(bench: Bench) -> Setting:
    """Worked out for 2E and 3E, not set: the tip is not known."""
    return bench.hands.make_setting(
        bench.job,
        [bench.ports["2E"], bench.ports["3E"]],
        cutter=bench.cutter.id,
        fixture=bench.fixture.id,
        pilot=bench.pilot.id,
    )


def page(setting: Setting) -> str:
    return f"/settings/{setting.id}"


def read_back(browser: TestClient, setting: Setting, typed: str, key: str = "") -> Response:
    return send(browser, f"{page(setting)}/achieved", key, achieved=typed)


def state(bench: Bench, setting: Setting) -> SettingState:
    with bench.database.read() as session:
        return session.get_one(Setting, setting.id).state


def readings(bench: Bench) -> list[str]:
    with bench.database.read() as session:
        return [each.typed for each in session.exec(select(SettingAdjustment))]


def test_the_reading_to_set_stands_large_with_the_other_two_beside_it(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    told = words(signed_in_as("Marek").get(page(made(bench))))
    assert "Set Adjustable 2 for 2E and 3E" in told
    assert "Set it to on Bench fixture .8100 in radius" in told
    assert "diameter 1.6200" in told
    assert "across the pilot .9816" in told
    assert "One division, .0001 , moves the bore by .0002" in told
    assert "First pass, under size on purpose." in told
    assert "No cut known yet." in told
    assert "Open: set the cutter, and type what the fixture reads" in told


def test_a_reading_makes_it_live_and_clamping_up_comes_next(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    browser, setting = signed_in_as("Marek"), made(bench)
    answer = read_back(browser, setting, ".8100")
    assert (answer.status_code, answer.headers["location"]) == (303, page(setting))
    assert state(bench, setting) is SettingState.LIVE
    shown = browser.get(page(setting))
    told = words(shown)
    assert "Adjustable 2 is set for 2E and 3E" in told
    assert "2E exhaust 1.62115 to 1.62315 1.62000 under on purpose to cut" in told
    assert f'id="next" href="/heads/{bench.head.id}/clamp-ups/new?back=' in shown.text


def test_the_first_position_comes_next_once_the_head_is_clamped(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    setting = bench.set_and_clamped()
    shown = signed_in_as("Marek").get(page(setting))
    port = bench.ports["2E"].id
    assert f'id="next" href="/positions/{port}/cut?setting={setting.id}"' in shown.text


def test_a_reading_that_leaves_every_window_is_kept_and_told(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    browser, setting = signed_in_as("Marek"), made(bench)
    assert read_back(browser, setting, ".8120").status_code == 303
    told = words(browser.get(page(setting)))
    assert readings(bench) == [".8120"]
    assert state(bench, setting) is SettingState.READY
    assert "No position keeps its window at that reading: set it nearer." in told
    assert "too large over by .00085" in told


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("", "Type what the fixture reads after locking."),
        ("nan", "'nan'"),
        ("1e400", "'1e400'"),
        ("-.81", "-.81 cannot be negative."),
        ("8100", "is outside what can be here (from .0393 to 5.91 in)."),
        ("point eight", "'point eight'"),
    ],
)
def test_a_bad_figure_is_told_at_its_field_and_kept_there(
    bench: Bench, signed_in_as: SignedIn, typed: str, why: str
) -> None:
    setting = made(bench)
    answer = read_back(signed_in_as("Marek"), setting, typed)
    assert answer.status_code == 422
    assert 'href="#r-achieved"' in answer.text
    assert 'name="achieved" type="text"' in answer.text
    assert f'value="{typed}"' in answer.text
    assert why in words(answer)
    assert readings(bench) == []


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("1.6200", "1.6200 is the diameter; this fixture is to read .8100, the radius."),
        (".9816", ".9816 is the reading across the pilot; this fixture is to read .8100"),
        (".2500", ".2500 would bore .5000 for 1.6200; this fixture is to read .8100, the radius."),
    ],
)
def test_what_another_fixture_would_read_is_refused_and_nothing_is_kept(
    bench: Bench, signed_in_as: SignedIn, typed: str, why: str
) -> None:
    setting = made(bench)
    answer = read_back(signed_in_as("Marek"), setting, typed)
    assert answer.status_code == 422
    assert why in words(answer)
    assert 'href="#r-achieved"' in answer.text
    assert (readings(bench), state(bench, setting)) == ([], SettingState.READY)


def test_a_reading_that_would_leave_no_bore_is_refused(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    across = bench.hands.make_setting(
        bench.job,
        [bench.ports["2E"]],
        cutter=bench.cutter.id,
        fixture=across_fixture(bench),
        pilot=bench.pilot.id,
    )
    answer = read_back(signed_in_as("Marek"), across, ".0500")
    assert answer.status_code == 422
    assert ".0500 leaves no bore at all; this fixture is to read" in words(answer)
    assert readings(bench) == []


def across_fixture(bench: Bench) -> int:
    """One that reads across the pilot."""
    raw = {"name": "Over-pilot gauge", "mode": "across_pilot", "unit": "in", "division": ".0001"}
    with bench.hands.writing() as tx:
        return create_fixture(tx, FixtureForm(raw, unit=bench.job.unit)).id


def test_a_reading_sent_twice_is_kept_once(bench: Bench, signed_in_as: SignedIn) -> None:
    browser, setting = signed_in_as("Marek"), made(bench)
    answers = [read_back(browser, setting, ".8100", key="b2" * 16) for _ in range(2)]
    assert [each.status_code for each in answers] == [303, 303]
    assert readings(bench) == [".8100"]


def test_another_person_is_asked_for_one_reading(bench: Bench, signed_in_as: SignedIn) -> None:
    setting = bench.set_and_clamped()
    browser = signed_in_as("Odile")
    told = words(browser.get(page(setting)))
    assert "Read Adjustable 2 again for 2E and 3E" in told
    assert "Read the fixture once more: another person set it." in told
    read_back(browser, setting, ".8100")
    told = words(browser.get(page(setting)))
    assert "Reads .8100 again: the setting is live." in told
    assert "re-checked" in told


def test_a_tip_change_asks_for_the_setting_to_be_made_again(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    setting = bench.set_and_clamped()
    with bench.hands.writing() as tx:
        change_tip(tx, bench.cutter.id, "ground")
    shown = signed_in_as("Marek").get(page(setting))
    assert "Its size no longer stands: the cutter's tip was seen to: ground." in words(shown)
    assert f'id="next" href="/jobs/{bench.job.number}/plan"' in shown.text
    assert 'name="achieved"' not in shown.text


def test_a_bored_position_is_left_out_and_rings_come_after_the_last(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    setting = bench.bored()
    shown = signed_in_as("Marek").get(page(setting))
    assert f"S-{setting.id}: every position is bored" in words(shown)
    assert f'id="next" href="/heads/{bench.head.id}/rings-in"' in shown.text


def test_a_setting_is_ended_with_a_reason(bench: Bench, signed_in_as: SignedIn) -> None:
    browser, setting = signed_in_as("Marek"), made(bench)
    refused = send(browser, f"{page(setting)}/end", because="  ")
    assert refused.status_code == 422
    assert "Because: Say why it is over." in words(refused)
    assert send(browser, f"{page(setting)}/end", because="a larger ring").status_code == 303
    assert state(bench, setting) is SettingState.ENDED
    assert "Over: a larger ring." in words(browser.get(page(setting)))


def test_the_service_writer_reads_a_setting_and_changes_nothing(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    browser, setting = signed_in_as("Wilma"), made(bench)
    shown = browser.get(page(setting))
    assert shown.status_code == 200
    assert 'name="achieved"' not in shown.text
    assert read_back(browser, setting, ".8100").status_code == 403


def test_an_unknown_setting_is_not_found(signed_in_as: SignedIn) -> None:
    browser = signed_in_as("Marek")
    assert browser.get("/settings/999").status_code == 404
    assert send(browser, "/settings/999/achieved", achieved="1").status_code == 404
    assert send(browser, "/settings/999/end", because="x").status_code == 404
