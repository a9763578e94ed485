"""Programs that ask for calculations, whoever they are."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import FastAPI
from starlette.testclient import TestClient

from tests.web.openapi_fuzz import fuzz

# Making a request from the description takes longer than answering it: tests/bench asks more.
EACH = 6


def test_whatever_a_program_asks_is_answered_as_described_and_alike_for_everyone(
    app: FastAPI, signed_in_as: Callable[[str], TestClient]
) -> None:
    assert fuzz(app, signed_in_as, EACH) >= EACH * 4 * 13
