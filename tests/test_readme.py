"""The README's command lines are the ones that are run; the top level stays small."""

from __future__ import annotations

import importlib.util
import os
import re
import subprocess
import sys
import tomllib
from contextlib import nullcontext
from itertools import chain
from pathlib import Path
from types import ModuleType

import pytest

from app import cli

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "app",
    "templates",
    "static",
    "migrations",
    "tests",
    "seed_demo",
}


def from_ci(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, ROOT / ".ci" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


command_below = from_ci("readme_line").command_below


def test_the_test_line_is_one_command_that_exists() -> None:
    words = command_below("Test it").split()
    assert words[0] == "python3"
    assert (ROOT / words[1]).is_file()
    assert len(words) == 2


def test_the_run_line_makes_its_own_environment_pinned_and_starts_the_demo() -> None:
    made, installed, started = command_below("Run it").split(" && ")
    assert made == "python3 -m venv .venv"
    assert installed.split()[:2] == [".venv/bin/pip", "install"]
    assert "-c .ci/constraints.txt" in installed
    assert started == ".venv/bin/seatwright demo"


def test_ci_runs_the_line_that_the_readme_gives(tmp_path: Path) -> None:
    """The very script, beside a README whose line only leaves a mark."""
    (tmp_path / ".ci").mkdir()
    for name in ("run", "readme_line.py"):
        (tmp_path / ".ci" / name).write_bytes((ROOT / ".ci" / name).read_bytes())
    changed = README.replace(command_below("Test it"), "echo ran >> mark && echo twice >> mark")
    (tmp_path / "README.md").write_text(changed, encoding="utf-8")
    done = subprocess.run(["bash", ".ci/run"], cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "mark").read_text().split() == ["ran", "twice"]


def test_ci_fails_when_the_line_fails(tmp_path: Path) -> None:
    (tmp_path / ".ci").mkdir()
    for name in ("run", "readme_line.py"):
        (tmp_path / ".ci" / name).write_bytes((ROOT / ".ci" / name).read_bytes())
    changed = README.replace(command_below("Test it"), "false && true")
    (tmp_path / "README.md").write_text(changed, encoding="utf-8")
    assert subprocess.run(["bash", ".ci/run"], cwd=tmp_path, capture_output=True).returncode == 1


@pytest.mark.parametrize("lines", ["", "one\ntwo", "```\n```sh\nanother"])
def test_a_section_must_hold_one_line(lines: str) -> None:
    text = f"## Test it\n\n```sh\n{lines}\n```\n\n## After\n"
    with pytest.raises(ValueError, match="one sh block of one line"):
        command_below("Test it", text)


def test_a_windows_line_stands_beside_each() -> None:
    for heading in ("Run it", "Test it"):
        section = README.split(f"## {heading}\n")[1].split("\n## ")[0]
        assert re.search(r"On Windows.*`py ", section, re.S), heading


def test_the_readme_opens_with_the_job_in_one_paragraph() -> None:
    title, job, *_ = README.split("\n\n")
    assert title == "# Seatwright"
    assert 300 < len(job) < 900
    assert README.index("\n## Run it") < README.index("\n## Test it")
    assert re.findall(r"^## (.*)", README, re.M)[0] == "Run it"


def test_every_flag_and_variable_of_the_readme_exists(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        cli.main(["serve", "--help"])
    serve_help = capsys.readouterr().out
    for flag in re.findall(r"^\| `(--[a-z]+)`", README, re.M):
        assert flag in serve_help
    source = (ROOT / "app" / "config.py").read_text(encoding="utf-8")
    variables = set(re.findall(r"SEATWRIGHT_[A-Z_]+", README))
    assert len(variables) == 6
    assert variables == set(re.findall(r'"(SEATWRIGHT_[A-Z_]+)"', source))


def test_the_top_level_holds_nothing_else() -> None:
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    top = {path.partition("/")[0] for path in listed}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL


def test_versions_are_pinned_without_addresses() -> None:
    lines = (ROOT / ".ci" / "constraints.txt").read_text().splitlines()
    assert lines
    assert [line for line in lines if "://" in line or "@" in line or line.startswith("-")] == []
    assert all("==" in line for line in lines)


def test_everything_that_is_installed_is_pinned() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    wanted = [*project["dependencies"], *chain(*project["optional-dependencies"].values())]
    pinned = {
        line.partition("==")[0] for line in (ROOT / ".ci" / "constraints.txt").read_text().split()
    }
    for requirement in wanted:
        name = re.match(r"[A-Za-z0-9-]+", requirement)
        assert name is not None
        assert name[0].lower() in pinned, requirement


def test_the_test_line_says_what_is_missing_where_it_may_not_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    script = from_ci("test")
    monkeypatch.setattr(script, "has_chromium", lambda: False)
    monkeypatch.setattr(script, "has_postgres", lambda: False)
    monkeypatch.setattr(os, "geteuid", lambda: 1000, raising=False)
    with pytest.raises(script.Missing) as missing:
        script.install_system_programs()
    assert "Chromium and PostgreSQL" in str(missing.value)
    assert "apt-get install chromium fonts-dejavu-core postgresql" in str(missing.value)


@pytest.mark.parametrize("works", [True, False])
def test_the_test_line_installs_by_apt_where_it_may(
    works: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With an apt-get of our own that notes how it was called."""
    script = from_ci("test")
    called = tmp_path / "called"
    apt = tmp_path / "apt-get"
    apt.write_text(f'#!/bin/sh\necho "$@" >> {called}\n')
    apt.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:{os.environ['PATH']}")
    monkeypatch.setattr(os, "geteuid", lambda: 0, raising=False)
    monkeypatch.setattr(script, "has_chromium", lambda: works and called.exists())
    monkeypatch.setattr(script, "has_postgres", lambda: True)
    if works:
        script.install_system_programs()
    else:
        with pytest.raises(script.Missing, match="Chromium, which apt could not install"):
            script.install_system_programs()
    update, install = called.read_text().splitlines()
    assert update.split()[0] == "update"
    assert install.endswith("--no-install-recommends chromium fonts-dejavu-core")


def test_a_failing_test_makes_the_test_line_fail(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    script = from_ci("test")
    monkeypatch.setattr(script, "install_python_packages", lambda: None)
    monkeypatch.setattr(script, "install_system_programs", lambda: None)
    monkeypatch.setattr(script, "check", lambda *command: None)
    monkeypatch.setattr(script, "beside", lambda *command: nullcontext())
    monkeypatch.setattr(os, "chdir", lambda _path: None)
    for counts, code in (([(7, 0), (3, 0)], 0), ([(7, 0), (3, 1)], 1), ([(7, 0), (0, 0)], 1)):
        answers = iter(counts)
        monkeypatch.setattr(script, "pytest", lambda *_, answers=answers: next(answers))
        assert script.main() == code
    assert "Total: 10 passed, 0 failed" in capsys.readouterr().out


@pytest.mark.parametrize("code", [0, 3])
def test_a_check_beside_the_tests_is_told_after_them_and_may_end_the_run(
    code: int, capfd: pytest.CaptureFixture[str]
) -> None:
    script = from_ci("test")
    program = f"import sys; print('what it found'); print('why', file=sys.stderr); sys.exit({code})"
    with (
        pytest.raises(SystemExit, match="3") if code else nullcontext(),
        script.beside(sys.executable, "-c", program),
    ):
        print("the tests")
    _started, tests, *told = capfd.readouterr().out.splitlines()
    assert tests == "the tests"
    assert {"what it found", "why"} <= set(told)


def test_the_counts_are_those_that_pytest_reports(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    script = from_ci("test")
    monkeypatch.setattr(script, "PYTHON", sys.executable)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "test_some.py").write_text(
        "def test_a(): pass\ndef test_b(): pass\ndef test_c(): raise ValueError\n"
    )
    assert script.pytest("-q", "test_some.py") == (2, 1)
