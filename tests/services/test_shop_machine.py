"""Two people doing anything in any order: no gate is skipped and nothing on record changes."""

from __future__ import annotations

from pathlib import Path
from typing import cast

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.postgres import Cluster
from tests.services.floor import Floors
from tests.services.shop_machine import Copies, ShopMachine

# A few in the run, always the same ones; tests/bench tries others by the hundred.
FEW = settings(
    max_examples=5,
    stateful_step_count=10,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)

DONE = (
    *("opened a cut", "gauged", "proved", "pressed", "took out", "finished", "signed"),
    *("struck", "chose a ring", "stopped", "way out", "handed over", "setting: tip"),
)


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_whatever_is_done_in_whatever_order_no_gate_is_skipped_and_nothing_kept_changes(
    kind: str, floors: Floors, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    copies = Copies(
        floors, kind, tmp_path, lambda: cast(Cluster, request.getfixturevalue("postgres"))
    )
    run_state_machine_as_test(lambda: ShopMachine(copies), settings=FEW)
    assert [each for each in DONE if not copies.done.get(each)] == [], copies.done
    assert copies.done.get("pressed, refused")
