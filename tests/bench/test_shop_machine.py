"""As in tests/services/test_shop_machine.py, other orders by the hundred; started by name.

.venv/bin/pytest tests/bench/test_shop_machine.py -s
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import cast

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.postgres import Cluster
from tests.services.conftest import *  # noqa: F403  (its fixtures)
from tests.services.floor import Floors
from tests.services.shop_machine import Copies, ShopMachine

MANY = settings(
    max_examples=int(os.environ.get("EXAMPLES", "200")),
    stateful_step_count=40,
    deadline=None,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_whatever_is_done_in_whatever_order_no_gate_is_skipped_and_nothing_kept_changes(
    kind: str, floors: Floors, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    copies = Copies(
        floors, kind, tmp_path, lambda: cast(Cluster, request.getfixturevalue("postgres"))
    )
    run_state_machine_as_test(lambda: ShopMachine(copies), settings=MANY)
    print(f"\n{kind}: {sum(copies.done.values())} acts in {next(copies.numbers)} shops")
    for name, times in sorted(copies.done.items()):
        print(f"  {name}: {times}")
