"""What every calculation refuses alike, and what its OpenAPI page says."""

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.api.calc.fields import BODY_LIMIT
from app.api.calc.router import ENDPOINTS
from tests.calc.api_client import app, client, refused_raw, worked

SCHEMA = app.openapi()
NAMES = sorted(path.removeprefix("/api/calc/") for path in SCHEMA["paths"])


def page(name: str) -> dict[str, Any]:
    found: dict[str, Any] = SCHEMA["paths"][f"/api/calc/{name}"]["post"]
    return found


def example(name: str) -> dict[str, Any]:
    found: dict[str, Any] = page(name)["requestBody"]["content"]["application/json"]["example"]
    return found


def test_every_calculation_of_the_router_is_listed():
    assert {"bore", "setting", "setting-plan", "clean-up"} <= set(NAMES)
    assert len(NAMES) == len(ENDPOINTS)


@pytest.mark.parametrize("name", NAMES)
def test_the_example_on_its_page_is_answered(name: str):
    answer = worked(name, **example(name))
    told = page(name)["responses"]["200"]["content"]["application/json"]["schema"]
    assert set(answer) == set(told["properties"]) == set(told["required"])


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(
    "body",
    [
        b"",
        b" ",
        b"[]",
        b"null",
        b"12",
        b'"text"',
        b"NaN",
        b"{",
        b'{"a" 1}',
        b"\xff\xfe{}",
        b'{"a":"\xc3"}',
        b"[" * 20_000,
        b'{"a":' * 20_000,
        b"{}{}",
    ],
)
def test_what_is_not_an_object_is_refused_as_the_body(name: str, body: bytes):
    assert refused_raw(name, body) == ["body"]


@pytest.mark.parametrize("name", NAMES)
def test_a_body_over_the_limit_is_refused_and_one_at_the_limit_is_read(name: str):
    whole = json.dumps(example(name)).encode()
    assert client.post(f"/api/calc/{name}", content=whole.ljust(BODY_LIMIT)).status_code == 200
    over = client.post(f"/api/calc/{name}", content=whole.ljust(BODY_LIMIT + 1))
    assert over.status_code == 413
    assert over.json()["errors"][0]["field"] == "body"


def test_a_body_sent_in_pieces_without_a_length_is_limited_too():
    pieces = (b" " * 65_536 for _ in range(10))
    assert client.post("/api/calc/setting", content=pieces).status_code == 413


@pytest.mark.parametrize("name", NAMES)
def test_every_required_field_is_missed_by_its_name(name: str):
    asked = page(name)["requestBody"]["content"]["application/json"]["schema"]
    assert set(asked["required"]) <= set(refused_raw(name, b"{}"))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("odd", ["NaN", "Infinity", "-Infinity", "1e999", "9" * 5000, "true"])
def test_odd_values_are_refused_in_every_field(name: str, odd: str):
    for field in example(name):
        body = {**example(name), field: "odd"}
        raw = json.dumps(body).replace(f'"{field}": "odd"', f'"{field}": {odd}')
        assert field in refused_raw(name, raw.encode()), field


@pytest.mark.parametrize("name", NAMES)
def test_a_field_given_twice_is_refused(name: str):
    first, value = next(iter(example(name).items()))
    raw = f'{json.dumps(example(name))[:-1]}, "{first}": {json.dumps(value)}}}'
    assert first in refused_raw(name, raw.encode())


@pytest.mark.parametrize("name", NAMES)
def test_a_field_that_is_not_known_is_refused_even_when_null(name: str):
    raw = json.dumps({**example(name), "protusion": None}).encode()
    assert refused_raw(name, raw) == ["protusion"]


def test_a_field_name_that_cannot_be_sent_back_is_refused_without_a_fault():
    raw = json.dumps(example("setting"))[:-1] + ', "\\ud800": 1}'
    assert refused_raw("setting", raw.encode()) == ["?"]


def test_an_endless_field_name_is_cut_short():
    raw = json.dumps({**example("setting"), "x" * 5000: 1}).encode()
    assert len(refused_raw("setting", raw)[0]) < 300


def test_a_spreadsheets_byte_order_mark_is_no_fault():
    raw = b"\xef\xbb\xbf" + json.dumps(example("setting")).encode()
    assert client.post("/api/calc/setting", content=raw).status_code == 200


def test_lengths_are_answered_without_scientific_notation_and_read_back():
    given_in = {**example("setting"), "resolution": "0.0001 mm"}
    found = worked("setting", **given_in)
    assert found["bore_per_division"] == {"nm": 200, "in": "0.00000787", "mm": "0.0002"}


JSON_VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**40), 10**40)
    | st.floats()
    | st.text(max_size=50)
    | st.sampled_from(["1.6", "\ud800", "1e5", "in", "5/0", "1 5/8 mm", "-0", "٣"]),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=8,
)


@pytest.mark.parametrize("name", NAMES)
@given(data=st.data())
@settings(max_examples=40)
def test_nothing_that_json_can_say_ends_in_a_fault(name: str, data: st.DataObject):
    fields = st.sampled_from(sorted(example(name)))
    changed = data.draw(st.dictionaries(fields, JSON_VALUES, min_size=1, max_size=3))
    response = client.post(
        f"/api/calc/{name}", content=json.dumps({**example(name), **changed}).encode()
    )
    assert response.status_code in (200, 422)
    json.dumps(response.json(), allow_nan=False)


def test_only_post_is_answered():
    assert client.get("/api/calc/setting").status_code == 405
    assert client.post("/api/calc/no-such", json={}).status_code == 404
