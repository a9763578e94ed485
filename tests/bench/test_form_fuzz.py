"""As in tests/web/test_form_fuzz.py, many times over; started by name, prints what was sent.

.venv/bin/pytest tests/bench/test_form_fuzz.py -s
"""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path

from tests.postgres import Cluster
from tests.web.two_shops import two_shops

ROUNDS = 30


def test_whatever_is_typed_is_answered_in_words_and_alike_on_both_databases(
    postgres: Cluster, sqlite_url: str, tmp_path: Path
) -> None:
    with ExitStack() as until:
        shops = two_shops(postgres, sqlite_url, tmp_path, until)
        forms = list(shops.forms())
        for _ in range(ROUNDS):
            for action, form in forms:
                shops.send(action, form)
        print(f"\n{len(forms)} forms, {shops.sent} answers, each alike on both databases")
