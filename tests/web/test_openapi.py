"""Programs that ask for calculations, whoever they are."""

from __future__ import annotations

from collections.abc import Callable

from starlette.testclient import TestClient

from tests.web.openapi_fuzz import fuzz

# Of each operation, as everyone; tests/bench asks eight times as many.
EACH = 25


def test_whatever_a_program_asks_is_answered_as_described_and_alike_for_everyone(
    new_client: Callable[[], TestClient], signed_in_as: Callable[[str], TestClient]
) -> None:
    assert fuzz(new_client, signed_in_as, EACH) >= EACH * 4 * 13
