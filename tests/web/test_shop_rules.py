"""The rules' pages: what holds, changing it, what it was."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from app.calc.units import Length
from app.db import Database
from app.workflow.shop_rules import RULES
from app.workflow.words import Material
from app.worksheets.interference import rule_for

SignedInAs = Callable[[str], TestClient]

BAND = {
    "material": "grey_iron",
    "od_from": "1.25",
    "od_below": "2",
    "least": ".0032",
    "aim": ".0040",
    "most": ".0048",
    "source": "Odile, table of 2026",
}


def test_every_rule_stands_on_the_page_with_its_source(signed_in_as: SignedInAs) -> None:
    page = signed_in_as("machinist").get("/shop-rules").text
    for key in RULES:
        assert f'href="/shop-rules/{key}"' in page
    assert "common practice of head shops" in page
    assert "1.25 up to 2.00" in page


@pytest.mark.parametrize("key", RULES)
def test_every_rule_has_a_page_and_keeps_its_default_when_typed_again(
    signed_in_as: SignedInAs, key: str
) -> None:
    browser = signed_in_as("owner")
    page = browser.get(f"/shop-rules/{key}")
    assert page.status_code == 200
    sent = {"value": RULES[key].default, "source": "Odile, looked at it", "seen": ""}
    sent["seen"] = RULES[key].default
    assert browser.post(f"/shop-rules/{key}", data=sent).status_code == 303
    assert "Odile, looked at it" in browser.get(f"/shop-rules/{key}").text


def test_a_changed_rule_shows_who_changed_it_and_what_it_was(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("owner")
    sent = {"value": "2 thou", "source": "chatter below that", "seen": ".0010 in"}
    assert browser.post("/shop-rules/least_cut", data=sent).status_code == 303
    page = browser.get("/shop-rules/least_cut").text
    for words in ("2 thou", "chatter below that", "Odile", ".0010 in"):
        assert words in page


@pytest.mark.parametrize(
    ("value", "source", "field"),
    [("1 in", "me", "f-value"), ("ten", "me", "f-value"), ("2 thou", "", "f-source")],
)
def test_a_refused_rule_keeps_what_was_typed(
    signed_in_as: SignedInAs, value: str, source: str, field: str
) -> None:
    refused = signed_in_as("owner").post(
        "/shop-rules/least_cut", data={"value": value, "source": source}
    )
    assert refused.status_code == 422
    assert f'href="#{field}"' in refused.text
    assert f'value="{value}"' in refused.text


def test_a_page_that_showed_an_older_value_does_not_overwrite(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("owner")
    sent = {"value": "2 thou", "source": "me", "seen": ".0010 in"}
    browser.post("/shop-rules/least_cut", data=sent)
    late = browser.post("/shop-rules/least_cut", data={**sent, "value": "3 thou"})
    assert late.status_code == 409
    assert "changed while the page was open" in late.text


def test_only_an_owner_changes_rules(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("machinist")
    assert "Change it" not in browser.get("/shop-rules/least_cut").text
    assert browser.post("/shop-rules/least_cut", data={"value": "1"}).status_code == 403
    assert browser.post("/interference-rules", data=BAND).status_code == 403


def test_an_unknown_rule_is_a_404_page(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("owner")
    for path in ("/shop-rules/least_coffee", "/shop-rules/%3Cb%3E", "/shop-rules/LEAST"):
        assert browser.get(path).status_code == 404


def test_a_cautions_hazard_stays_when_the_shop_empties_its_sentence(
    signed_in_as: SignedInAs,
) -> None:
    browser = signed_in_as("owner")
    sent = {"value": "", "source": "we say it aloud"}
    assert browser.post("/shop-rules/caution_hot_head", data=sent).status_code == 303
    page = browser.get("/shop-rules/caution_hot_head").text
    assert "Hot head" in page
    assert "Safety data sheets" in page


def test_a_band_is_made_the_shops_own_and_given_back(
    signed_in_as: SignedInAs, database: Database
) -> None:
    browser = signed_in_as("owner")
    links = re.findall(r"/interference-rules/new\?[^\"]+", browser.get("/shop-rules").text)
    filled = browser.get(links[1].replace("&amp;", "&")).text
    for value in ("1.25", ".003", ".004", ".005"):
        assert f'value="{value}"' in filled
    assert browser.post("/interference-rules", data=BAND).status_code == 303
    page = browser.get("/shop-rules").text
    assert ".0048" in page
    assert "Odile, table of 2026" in page
    assert "What this band was" in browser.get(links[1].replace("&amp;", "&")).text
    with database.read() as session:
        window = rule_for(session, Material.GREY_IRON, Length.of("1.6262"))
    assert window.least == Length.of(".0032")
    without_reason = browser.post("/interference-rules/1/retire", data={**BAND, "source": ""})
    assert without_reason.status_code == 422
    assert browser.post("/interference-rules/1/retire", data=BAND).status_code == 303
    assert ".0048" not in browser.get("/shop-rules").text


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"material": "cheese"}, "material"),
        ({"least": "-.001"}, "least"),
        ({"least": "0.2 in"}, "least"),
        ({"least": ".005"}, "most"),
        ({"aim": ".006"}, "aim"),
        ({"od_from": "3"}, "od-below"),
        ({"od_from": "nan"}, "od-from"),
        ({"source": ""}, "source"),
    ],
)
def test_a_band_that_cannot_be_is_refused_at_its_field(
    signed_in_as: SignedInAs, change: dict[str, str], field: str
) -> None:
    refused = signed_in_as("owner").post("/interference-rules", data={**BAND, **change})
    assert refused.status_code == 422
    assert f'href="#f-{field}"' in refused.text


def test_an_odd_window_is_asked_about_once(signed_in_as: SignedInAs) -> None:
    browser = signed_in_as("owner")
    odd = {**BAND, "most": ".030"}
    asked = browser.post("/interference-rules", data=odd)
    assert asked.status_code == 422
    assert 'name="confirm_odd"' in asked.text
    yes = browser.post("/interference-rules", data={**odd, "confirm_odd": "yes"})
    assert yes.status_code == 303
