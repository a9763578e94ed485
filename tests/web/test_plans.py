"""The setting plan page: what to set, with what, and what is sent back when it is wrong."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.models.setting import Setting
from tests.web.bench import Bench, send, words

SignedIn = Callable[[str], TestClient]


@pytest.fixture
def stage() -> str:
    """2E and 3E have their rings read; nothing is set."""
    return "read"


def plan(bench: Bench) -> str:
    return f"/jobs/{bench.job.number}/plan"


def tools(bench: Bench, **changes: Any) -> dict[str, Any]:
    """The form of the one group, as a browser sends it with everything ticked."""
    return {
        "group": "1",
        "port": [str(bench.ports[label].id) for label in ("2E", "3E")],
        "cutter": str(bench.cutter.id),
        "fixture": str(bench.fixture.id),
        "pilot": str(bench.pilot.id),
        **changes,
    }


def settings(bench: Bench) -> list[Setting]:
    with bench.database.read() as session:
        return list(session.exec(select(Setting)))


def test_the_plan_shows_the_bore_its_positions_and_the_tools(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    answer = signed_in_as("Marek").get(plan(bench))
    told = words(answer)
    assert "1 setting serves 2 seat rings" in told
    assert "1.62215 in" in told
    assert "inside every window from 1.62115 to 1.62315" in told
    assert "Adjustable 2" in told
    assert "no cut of this tip known in this material first pass under size" in told
    assert "reads the radius one division .0001 in" in told
    assert ".0004 clear in the guides .3432 in the guide, .3432 at the tool" in told
    assert answer.text.count('type="checkbox" name="port"') == 2


def test_setting_up_goes_on_to_the_settings_page(bench: Bench, signed_in_as: SignedIn) -> None:
    answer = send(signed_in_as("Marek"), f"/jobs/{bench.job.number}/settings", **tools(bench))
    (setting,) = settings(bench)
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/settings/{setting.id}"


def test_a_form_sent_twice_makes_one_setting(bench: Bench, signed_in_as: SignedIn) -> None:
    browser = signed_in_as("Marek")
    url = f"/jobs/{bench.job.number}/settings"
    answers = [send(browser, url, key="a1" * 16, **tools(bench)) for _ in range(2)]
    assert [each.status_code for each in answers] == [303, 303]
    assert answers[0].headers["location"] == answers[1].headers["location"]
    assert len(settings(bench)) == 1


def test_an_unticked_position_is_left_for_another_setting(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    browser = signed_in_as("Marek")
    sent = tools(bench, port=str(bench.ports["3E"].id))
    send(browser, f"/jobs/{bench.job.number}/settings", **sent)
    told = words(browser.get(plan(bench)))
    assert "1 setting serves 1 seat ring" in told
    assert "3E S-1, Adjustable 2: worked out, not set" in told


def test_what_is_missing_is_told_at_its_field_with_the_rest_kept(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    sent = tools(bench, fixture="", port=str(bench.ports["3E"].id))
    answer = send(signed_in_as("Marek"), f"/jobs/{bench.job.number}/settings", **sent)
    assert answer.status_code == 422
    assert 'href="#g1-fixture"' in answer.text
    assert "Fixture: Choose the fixture that this cutter is set on." in words(answer)
    assert re.search(rf'name="cutter" value="{bench.cutter.id}" checked', answer.text)
    assert re.search(rf'name="port" value="{bench.ports["3E"].id}" checked', answer.text)
    assert not re.search(rf'name="port" value="{bench.ports["2E"].id}" checked', answer.text)
    assert settings(bench) == []


def test_no_position_ticked_is_told_in_the_group_that_was_sent(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    sent = tools(bench)
    del sent["port"]
    answer = send(signed_in_as("Marek"), f"/jobs/{bench.job.number}/settings", **sent)
    assert answer.status_code == 422
    assert "Positions: Choose the positions that this setting is for." in words(answer)


def test_a_stale_plan_is_refused_and_shown_as_it_stands(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    sent = tools(bench, **{f"aim_{bench.ports['2E'].id}": "41148000"})
    answer = send(signed_in_as("Marek"), f"/jobs/{bench.job.number}/settings", **sent)
    assert answer.status_code == 409
    assert "its ring or rule changed. Look at the plan again" in words(answer)
    assert settings(bench) == []


@pytest.mark.parametrize("cutter", ["99999999999999", "nan", "-1", "1e9", "\u0663"])
def test_a_cutter_that_cannot_be_is_refused(
    bench: Bench, signed_in_as: SignedIn, cutter: str
) -> None:
    sent = tools(bench, cutter=cutter)
    answer = send(signed_in_as("Marek"), f"/jobs/{bench.job.number}/settings", **sent)
    assert answer.status_code == 422
    assert 'href="#g1-cutter"' in answer.text


def test_a_position_of_another_job_is_refused(bench: Bench, signed_in_as: SignedIn) -> None:
    sent = tools(bench, port=["2147483647"])
    answer = send(signed_in_as("Marek"), f"/jobs/{bench.job.number}/settings", **sent)
    assert answer.status_code == 409
    assert "gets no seat ring in this job" in words(answer)


def test_the_service_writer_sees_the_plan_and_makes_no_setting(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    browser = signed_in_as("Wilma")
    answer = browser.get(plan(bench))
    assert answer.status_code == 200
    assert "Set up this one" not in answer.text
    url = f"/jobs/{bench.job.number}/settings"
    assert send(browser, url, **tools(bench)).status_code == 403


@pytest.mark.parametrize("stage", ["bare"])
def test_what_is_not_ready_says_why_and_where_it_is_closed(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    answer = signed_in_as("Marek").get(plan(bench))
    assert "2E and 3E a ring set" in words(answer)
    assert f'href="/jobs/{bench.job.number}/ring-sets/new"' in answer.text


@pytest.mark.parametrize("stage", ["bare"])
def test_rings_that_differ_too_much_to_be_mixed_are_chosen_first(
    bench: Bench, signed_in_as: SignedIn
) -> None:
    first = ["1.6261"] * 4 + [".2500"] * 3 + ["1.376"]
    ports = [bench.ports["2E"], bench.ports["3E"]]
    rings = bench.hands.rings(bench.job, ports, [first, ["1.6292", "1.6292", ".2500"]])
    answer = signed_in_as("Marek").get(plan(bench))
    assert "2E and 3E the rings are .0031 apart, too much for one bore" in words(answer)
    assert f'href="/ring-sets/{rings.id}"' in answer.text
    assert "Set up this one" not in answer.text


def test_an_unknown_job_has_no_plan(signed_in_as: SignedIn) -> None:
    assert signed_in_as("Marek").get("/jobs/26-999999/plan").status_code == 404
