"""The calculation interface on a bare application, as another program would ask it."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI
from starlette.testclient import TestClient

from app.api.calc.router import router

app = FastAPI(telemetry={"auto_configure": False})
app.include_router(router)
client = TestClient(app)


def worked(name: str, **request: Any) -> dict[str, Any]:
    """The answer to a request that must be answered."""
    response = client.post(f"/api/calc/{name}", json=request)
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.json()
    assert answer["working"]
    assert answer["calculation"]["name"] == name
    for step in answer["working"]:
        assert set(step) == {"symbol", "text", "value", "unit", "source"}
    return answer


def refused_fields(name: str, **request: Any) -> list[str]:
    """The fields that a refused request is refused for."""
    response = client.post(f"/api/calc/{name}", json=request)
    return _fields_of(response)


def refused_raw(name: str, body: bytes) -> list[str]:
    """As `refused_fields`, for a body that no JSON writer would make."""
    return _fields_of(client.post(f"/api/calc/{name}", content=body))


def _fields_of(response: Any) -> list[str]:
    assert response.status_code == 422, response.text
    errors = response.json()["errors"]
    assert errors
    assert all(set(error) == {"field", "message"} and error["message"] for error in errors)
    return [error["field"] for error in errors]
