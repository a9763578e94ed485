"""Whatever is typed into any form: never a fault, nothing run, and alike on both databases."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path

from tests.postgres import Cluster
from tests.web.two_shops import two_shops

TOO_LARGE = ("2147483648", "9" * 4500, "²")


def test_whatever_is_typed_is_answered_in_words_and_alike_on_both_databases(
    postgres: Cluster, sqlite_url: str, tmp_path: Path
) -> None:
    with ExitStack() as until:
        shops = two_shops(postgres, sqlite_url, tmp_path, until)
        forms = list(shops.forms())
        assert len(forms) > 60
        for action, form in forms:
            shops.send(action, form)
        for text in TOO_LARGE:
            shops.ask("GET", "/heads/1/not-done", params={"key": "wall", "port": text})
            shops.ask("POST", "/ring-sets/1/positions", data={"port": text[:3000]})
