"""The materials' page: what is known, what the shop adds, and where it is offered."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.calc.materials import RING_MATERIALS, HeadMaterial
from app.db import Database
from app.models.head import Head
from app.models.material import ShopMaterial
from app.models.ring import RingSet
from app.workflow.words import Material
from tests.web.conftest import Cast
from tests.web.rows import position

SignedInAs = Callable[[str], TestClient]

RING = {
    "material_of": "ring",
    "name": "Quarry 7",
    "family": "sintered",
    "to_1": "100",
    "alpha_1": "11,2",
    "to_2": "300",
    "alpha_2": "12",
    "modulus": "140",
    "poisson": ".28",
    "yield": "700",
    "source": "Quarry Rings, sheet 7",
}
HEAD = {
    "material_of": "head",
    "name": "Hollow cast 3",
    "family": "aluminium",
    "to_1": "100",
    "alpha_1": "21.1",
    "source": "foundry sheet HC-3",
}


def add(browser: TestClient, fields: dict[str, str]) -> str:
    """Add it; its key."""
    answer = browser.post("/materials", data=fields)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].partition("#")[2]


def versions(database: Database) -> list[ShopMaterial]:
    with database.read() as session:
        return list(session.exec(select(ShopMaterial).order_by(col(ShopMaterial.id))))


def test_every_material_stands_on_the_page_with_its_source_and_mark(
    signed_in_as: SignedInAs,
) -> None:
    page = signed_in_as("service_writer").get("/materials").text
    for words in (
        *(each.words for each in HeadMaterial),
        *(one.words for key, one in RING_MATERIALS.items() if key != "unknown"),
        "Callister",
        "from memory",
        "published",
        "207–276",
        "tensile",
    ):
        assert words in page
    row = re.search(r'<th scope="row">sintered, other</th>.*?</tr>', page, re.DOTALL)
    assert row is not None
    assert row[0].count("maker’s figure needed") == 3
    assert '<a href="/materials">' in signed_in_as("owner").get("/shop-rules").text


def test_a_figure_leads_to_its_own_source(signed_in_as: SignedInAs) -> None:
    page = signed_in_as("machinist").get("/materials").text
    cited = set(re.findall(r'href="#(source-\d+)"', page))
    assert cited
    assert cited == set(re.findall(r'<li id="(source-\d+)"', page))


def test_an_added_ring_material_is_offered_for_rings_and_kept_with_them(
    signed_in_as: SignedInAs, database: Database
) -> None:
    owner = signed_in_as("owner")
    key = add(owner, RING)
    page = owner.get("/materials").text
    for words in ("Quarry 7", "11.2", "entered by the shop", "Quarry Rings, sheet 7"):
        assert words in page
    machinist = signed_in_as("machinist")
    assert f'value="{key}">Quarry 7' in machinist.get("/shelf/new").text
    box = {"unit": "in", "owner": "shop", "part": "Q7", "pieces": "2", "material": key}
    assert machinist.post("/shelf", data=box).status_code == 303
    with database.read() as session:
        kept = session.exec(select(RingSet)).one()
    assert (kept.material, kept.alpha_per_k) == (key, None)
    assert "Quarry 7" in machinist.get("/shelf").text
    assert f'value="{key}" selected' in machinist.get(f"/ring-sets/{kept.id}/edit").text
    assert "1 set of rings is of it" in owner.get(f"/materials/{key}").text


def test_an_added_alloy_is_offered_under_its_family_and_both_are_kept(
    signed_in_as: SignedInAs, database: Database, cast: Cast
) -> None:
    key = add(signed_in_as("owner"), HEAD)
    head_id = position(database, cast["Marek"]).head_id
    wilma = signed_in_as("service_writer")
    page = wilma.get(f"/heads/{head_id}/edit").text
    offered = re.findall(r'name="material" value="([^"]+)"', page)
    assert offered == ["grey_iron", "ductile_iron", "aluminium", f"aluminium/{key}"]
    sent = {"unit": "in", "material": f"aluminium/{key}"}
    assert wilma.post(f"/heads/{head_id}/edit", data=sent).status_code == 303
    with database.read() as session:
        kept = session.get_one(Head, head_id)
        assert (kept.material, kept.alloy) == (Material.ALUMINIUM, key)
    again = wilma.get(f"/heads/{head_id}/edit").text
    assert f'value="aluminium/{key}" checked' in again
    for wrong in ("cheese", "aluminium/own-9", f"grey_iron/{key}"):
        refused = wilma.post(f"/heads/{head_id}/edit", data={"unit": "in", "material": wrong})
        assert refused.status_code == 422
        assert 'href="#f-material"' in refused.text


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": ""}, "name"),
        ({"family": "cheese"}, "family"),
        ({"alpha_1": "4.9"}, "alpha-1"),
        ({"alpha_1": "31"}, "alpha-1"),
        ({"alpha_1": "nan"}, "alpha-1"),
        ({"to_1": "49"}, "to-1"),
        ({"to_2": "601"}, "to-2"),
        ({"to_2": "100"}, "to-2"),
        ({"to_2": ""}, "to-2"),
        ({"alpha_2": ""}, "alpha-2"),
        ({"modulus": "29"}, "modulus"),
        ({"modulus": "451"}, "modulus"),
        ({"modulus": ""}, "modulus"),
        ({"poisson": ".14"}, "poisson"),
        ({"poisson": ".46"}, "poisson"),
        ({"poisson": ""}, "poisson"),
        ({"yield": "19"}, "yield"),
        ({"yield": "3001"}, "yield"),
        ({"within": "-1"}, "within"),
        ({"source": ""}, "source"),
        ({"name": "cobalt alloy"}, "name"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_stays_as_typed(
    signed_in_as: SignedInAs, database: Database, change: dict[str, str], field: str
) -> None:
    sent = {**RING, **change}
    refused = signed_in_as("owner").post("/materials", data=sent)
    assert refused.status_code == 422
    assert f'href="#f-{field}"' in refused.text
    for name in set(sent) - {"material_of", "family"}:
        if sent[name]:
            assert f'value="{sent[name]}"' in refused.text
    assert versions(database) == []


def test_a_name_alone_tells_nothing(signed_in_as: SignedInAs) -> None:
    bare = {"material_of": "ring", "name": "Quarry 9", "source": "a box"}
    refused = signed_in_as("owner").post("/materials", data=bare)
    assert refused.status_code == 422
    assert "at least one figure" in refused.text
    assert signed_in_as("owner").post("/materials", data={**bare, "yield": "500"}).is_redirect


@pytest.mark.parametrize(
    ("fields", "change", "question"),
    [
        (RING, {"alpha_2": "10.9"}, "expansion"),
        (RING, {"alpha_2": "24"}, "expansion"),
        (HEAD, {"alpha_1": "12"}, "expansion"),
        (HEAD, {"family": "grey_iron"}, "expansion"),
        (RING, {"modulus": "400"}, "modulus"),
    ],
)
def test_what_is_odd_is_asked_about_once(
    signed_in_as: SignedInAs, fields: dict[str, str], change: dict[str, str], question: str
) -> None:
    owner = signed_in_as("owner")
    asked = owner.post("/materials", data={**fields, **change})
    assert asked.status_code == 422
    assert f'name="confirm_{question}"' in asked.text
    sent = {**fields, **change, f"confirm_{question}": "yes"}
    assert owner.post("/materials", data=sent).status_code == 303


def test_a_changed_material_shows_what_it_was(signed_in_as: SignedInAs, database: Database) -> None:
    owner = signed_in_as("owner")
    key = add(owner, RING)
    shown = owner.get(f"/materials/{key}").text
    seen = re.search(r'name="seen" value="(\d+)"', shown)
    assert seen is not None
    for value in ("11.2", "300", "140", "0.28", "700"):
        assert f'value="{value}"' in shown
    sent = {**RING, "alpha_1": "11.7", "source": "sheet 7, second print", "seen": seen[1]}
    assert owner.post(f"/materials/{key}", data=sent).status_code == 303
    page = owner.get(f"/materials/{key}").text
    for words in ("11.7", "11.2", "second print", "Quarry Rings, sheet 7", "Odile"):
        assert words in page
    late = owner.post(f"/materials/{key}", data={**sent, "alpha_1": "11.9"})
    assert late.status_code == 409
    assert 'value="11.9"' in late.text
    assert [row.key for row in versions(database)] == [key, key]


def test_a_material_out_of_use_is_not_offered_and_comes_back(signed_in_as: SignedInAs) -> None:
    owner = signed_in_as("owner")
    key = add(owner, RING)
    assert owner.post(f"/materials/{key}/retire", data={"seen": "1"}).status_code == 303
    assert "out of use" in owner.get("/materials").text
    assert "Quarry 7" not in owner.get("/shelf/new").text
    assert owner.post(f"/materials/{key}/retire", data={"seen": "1"}).status_code == 409
    assert owner.post(f"/materials/{key}/bring-back", data={"seen": "2"}).status_code == 303
    assert "Quarry 7" in owner.get("/shelf/new").text


def test_only_an_owner_adds_or_changes(signed_in_as: SignedInAs) -> None:
    key = add(signed_in_as("owner"), RING)
    machinist = signed_in_as("machinist")
    assert "Add a" not in machinist.get("/materials").text
    assert "Change it" not in machinist.get(f"/materials/{key}").text
    for address in ("", f"/{key}", f"/{key}/retire", f"/{key}/bring-back"):
        assert machinist.post(f"/materials{address}", data=RING).status_code == 403
    assert machinist.get("/materials/new").status_code == 403


def test_an_unknown_material_is_a_404_page(signed_in_as: SignedInAs) -> None:
    owner = signed_in_as("owner")
    for path in ("/materials/own-9", "/materials/grey_iron", "/materials/%3Cb%3E"):
        assert owner.get(path).status_code == 404
    assert owner.post("/materials/own-9", data=RING).status_code == 404


def test_a_box_names_only_a_material_that_there_is(signed_in_as: SignedInAs) -> None:
    box = {"unit": "in", "owner": "shop", "part": "Q7", "pieces": "2", "material": "own-4"}
    refused = signed_in_as("machinist").post("/shelf", data=box)
    assert refused.status_code == 422
    assert 'href="#f-material"' in refused.text
