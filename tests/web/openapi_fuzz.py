"""Requests made from the interface's own description, asked by nobody and by each role."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import hypothesis
import schemathesis
from schemathesis import GenerationMode, checks
from starlette.testclient import TestClient

from tests.web.conftest import BY_ROLE, HERE

# Not JSON at all, not an object, or more than is read: answered in words as well.
# A size that no ring has fits the description and is refused in words: no check asks otherwise.
CHECKS = [
    checks.not_a_server_error,
    checks.status_code_conformance,
    checks.content_type_conformance,
    checks.response_schema_conformance,
    checks.negative_data_rejection,
]
TOLD = {200, 400, 405, 413, 415, 422}


def fuzz(
    new_client: Callable[[], TestClient], signed_in_as: Callable[[str], TestClient], each: int
) -> int:
    """Ask every operation `each` times; how many requests were answered as described.

    A calculation knows nobody: whoever asks gets the same words.
    """
    askers = [new_client(), *(signed_in_as(role) for role in BY_ROLE)]
    described = schemathesis.openapi.from_dict(askers[0].get("/openapi.json").json())
    described = described.include(path_regex="^/api/calc/")
    asked = 0

    def ask(case: schemathesis.Case) -> None:
        nonlocal asked
        sent: dict[str, Any] = case.as_transport_kwargs(base_url=HERE)
        sent.pop("cookies", None)
        if isinstance(sent.get("data"), bytes | str):
            sent["content"] = sent.pop("data")
        answers = [asker.request(**sent) for asker in askers]
        asked += len(answers)
        first = answers[0]
        assert first.status_code in TOLD, (first.status_code, first.text[:300])
        assert all(
            (other.status_code, other.content) == (first.status_code, first.content)
            for other in answers
        )
        case.validate_response(schemathesis.Response.from_any(first), checks=CHECKS)

    for found in described.get_all_operations():
        operation = found.ok()
        strategy = operation.as_strategy(
            generation_mode=GenerationMode.POSITIVE
        ) | operation.as_strategy(generation_mode=GenerationMode.NEGATIVE)
        hypothesis.settings(
            max_examples=each,
            deadline=None,
            database=None,
            derandomize=True,
            suppress_health_check=list(hypothesis.HealthCheck),
        )(hypothesis.given(case=strategy)(ask))()
    return asked
