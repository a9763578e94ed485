"""Many requests made from the interface's description, by nobody and by each role."""

from __future__ import annotations

from collections.abc import Callable

from starlette.testclient import TestClient

from tests.web.conftest import *  # noqa: F403  (its fixtures)
from tests.web.openapi_fuzz import fuzz

EACH = 200


def test_whatever_a_program_asks_is_answered_as_described_and_alike_for_everyone(
    new_client: Callable[[], TestClient], signed_in_as: Callable[[str], TestClient]
) -> None:
    print(f"\n{fuzz(new_client, signed_in_as, EACH)} requests were answered as described")
