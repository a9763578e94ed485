"""Whose work the program runs with."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from app.notices import notices
from tests.typed import Run

ROOT = Path(__file__).resolve().parent.parent


def test_every_work_that_it_runs_with_is_named_with_its_licence(run: Run) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    asked = [*project["dependencies"], *project["optional-dependencies"]["postgres"]]
    wanted = {
        re.match(r"[a-z0-9-]+", line)[0]  # type: ignore[index]
        for line in asked
        if "win32" not in line
    }
    found = {notice.name.lower().replace("_", "-"): notice for notice in notices()}
    assert wanted | {"htmx", "starlette", "pydantic"} <= set(found)
    assert not {"pytest", "mypy", "hypothesis"} & set(found)
    for notice in found.values():
        assert re.fullmatch(r"\d+(\.\d+)+.*", notice.version), notice.name
        assert notice.licence != "see its text", notice.name
        assert len(notice.text) > 400, notice.name
    code, said = run("notices")
    assert code == 0
    assert "htmx 4.0.1: Zero-Clause BSD" in said
