"""Whether the server can answer."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from starlette.testclient import TestClient

from app.config import Settings
from app.main import create_app
from tests.web.conftest import HERE


def test_a_working_shop_is_well(client: TestClient) -> None:
    answer = client.get("/healthz")
    assert answer.status_code == 200
    assert answer.json()["status"] == "ok"


def test_a_database_without_tables_is_not(
    make_settings: Callable[..., Settings], tmp_path: Path
) -> None:
    app = create_app(make_settings(data=tmp_path / "nowhere"))
    answer = TestClient(app, base_url=HERE).get("/healthz")
    assert answer.status_code == 503
    assert answer.json()["status"] != "ok"
