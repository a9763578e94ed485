"""An empty shop and a head that nobody described: every page says what to do next; scripts off."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from seed_demo.hands import Hands
from tests.web.bench import Bench
from tests.web.pages import Walk
from tests.web.route_table import ROUTES

SignedInAs = Callable[[str], TestClient]

# Page by page: who looks, and the next step as it stands on its button, link or sentence.
EMPTY_SHOP = (
    ("/counter", "Wilma", "New job"),
    ("/find", "Wilma", "All open jobs"),
    ("/today", "Wilma", "New job"),
    ("/jobs/new", "Wilma", "Take it in, print the tag"),
    ("/price-list", "Wilma", "The owner sets prices here"),
    ("/price-list", "Odile", "Add it"),
    ("/bench", "Marek", "Counter"),
    ("/order-slip", "Marek", "Back to the wanted rings"),
    ("/crib", "Marek", "Add a machine"),
    ("/crib", "Wilma", "A machinist or the owner enters what cuts"),
    ("/crib/cutters/new", "Marek", "Keep"),
    ("/crib/fixtures/new", "Marek", "Keep"),
    ("/crib/instruments/new", "Marek", "Keep"),
    ("/crib/machines/new", "Marek", "Keep"),
    ("/crib/pilots/new", "Marek", "Keep"),
    ("/shelf", "Marek", "Rings for the shelf"),
    ("/shelf", "Wilma", "A machinist or the owner puts them there"),
    ("/shelf/new", "Marek", "Put on the shelf"),
    ("/shelf/sizes", "Marek", "Add a standard series"),
    ("/shelf/sizes", "Wilma", "A machinist or the owner fills it"),
    ("/shelf/sizes/series", "Marek", "Put the series on the list"),
    ("/shelf/sizes/import", "Marek", "Look at it line by line"),
    ("/office", "Odile", "Enter what cuts and what measures"),
    ("/office", "Wilma", "Take the first job in"),
    ("/figures", "Odile", "Right the first time"),
    ("/shop-rules", "Odile", "Add a band"),
    ("/interference-rules/new", "Odile", "Keep the window"),
    ("/shop-rules/heat-cases", "Odile", "Add a case"),
    ("/shop-rules/heat-cases/new", "Odile", "Add the case"),
    ("/materials", "Odile", "Add a ring’s material"),
    ("/materials/new", "Odile", "Add the material"),
    ("/sources", "Odile", "Back to where you were"),
    ("/backups", "Odile", "Back up now"),
    ("/people", "Odile", "Add"),
    ("/out-and-in", "Odile", "Write everything to a file"),
    ("/api-keys", "Odile", "Issue a key"),
    ("/lists/customers/import", "Wilma", "Look at it line by line"),
    ("/lists/rings/import", "Marek", "Look at it line by line"),
    ("/lists/cutters/import", "Marek", "Look at it line by line"),
    ("/my-pin", "Marek", "Change it"),
)
NOT_PAGES = {
    "/",  # leads on to the person's own page
    "/openapi.json",
    "/healthz",
    "/favicon.ico",
    "/live",
    "/taken",  # only asked for with the sending that it is about
    "/trace",  # of a lot, a tool or a rule: there is none yet
    "/first-owner",
    "/sign-in",
    "/customers/find",  # a part of the page of a new job
    "/out-and-in/progress",  # a part of its page
    "/out-and-in/export",  # the finished file
    "/lists/find/csv",
    "/lists/customers/csv",
}
# A head that was taken in and not described yet.
UNDESCRIBED = (
    ("/jobs/{number}", "Describe the head"),
    ("/jobs/{number}/estimate", "The price list"),
    ("/jobs/{number}/plan", "Work of each position"),
    ("/jobs/{number}/ring-sets/new", "The job"),
    ("/jobs/{number}/sign", "To the job"),
    ("/jobs/{number}/hand-over", "Work of each position"),
    ("/jobs/{number}/photos", "Keep"),
    ("/heads/{head}/positions", "Describe the head"),
    ("/heads/{head}/inspections", "Describe the head"),
    ("/heads/{head}/stem-heights", "Describe the head"),
    ("/heads/{head}/guides", "Describe the head"),
    ("/heads/{head}/new-guides", "Guides"),
    ("/heads/{head}/rings-out", "Work of each position"),
    ("/heads/{head}/pockets", "Work of each position"),
    ("/heads/{head}/seats", "Describe the head"),
    ("/heads/{head}/finish", "Work of each position"),
    ("/heads/{head}/valves", "Describe the head"),
    ("/heads/{head}/vacuum", "Describe the head"),
    ("/heads/{head}/chambers", "Describe the head"),
    ("/heads/{head}/rings-in", "Work of each position"),
    ("/heads/{head}/heat", "Work of each position"),
)


def says(walk: Walk, step: str) -> bool:
    """Whether a link or button below the page's bars is called so, or an empty place says it."""
    main = walk.text.partition("<main")[2].partition("</main>")[0] or walk.text
    touched = re.findall(r"<(a|button)\b[^>]*>(.*?)</\1>", main, flags=re.S)
    told = re.findall(r'<div class="empty">(.*?)</div>', main, flags=re.S)
    return step in {plain(words) for _, words in touched} or any(
        step in plain(words) for words in told
    )


def plain(markup: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", markup).split())


def test_every_page_of_an_empty_shop_says_what_to_do_next(signed_in_as: SignedInAs) -> None:
    walks = {name: Walk(signed_in_as(name), name) for name in ("Marek", "Wilma", "Odile")}
    for address, name, step in EMPTY_SHOP:
        assert says(walks[name].get(address), step), f"{address} for {name}"


def test_no_page_of_an_empty_shop_is_left_out() -> None:
    pages = {route.removeprefix("GET ") for route in ROUTES if re.fullmatch(r"GET [^{]*", route)}
    assert pages - NOT_PAGES == {address for address, _, _ in EMPTY_SHOP}


@pytest.fixture
def undescribed(bench: Bench) -> dict[str, str]:
    """A second job in the shop, just taken in."""
    hands: Hands = bench.hands.by(bench.cast.service_writer)
    job = hands.take_in(customer="Larch Mill", wanted="burnt exhaust seats", heads="one")
    return {"number": job.number, "head": str(hands.heads(job)[0].id)}


def test_every_page_of_a_head_that_nobody_described_leads_on(
    undescribed: dict[str, str], signed_in_as: SignedInAs
) -> None:
    marek = Walk(signed_in_as("Marek"), "Marek")
    for address, step in UNDESCRIBED:
        assert says(marek.get(address.format(**undescribed)), step), address
