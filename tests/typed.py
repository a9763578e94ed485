"""Commands as they are typed on the shop's PC."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from app import cli

Run = Callable[..., tuple[int, str]]


def typing(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Types a command, with no settings from outside; how it ended and all it said."""
    for name in [name for name in os.environ if name.startswith("SEATWRIGHT_")]:
        monkeypatch.delenv(name)

    def typed(*arguments: str | Path) -> tuple[int, str]:
        code = cli.main([str(argument) for argument in arguments])
        said = capsys.readouterr()
        return code, said.out + said.err

    return typed
