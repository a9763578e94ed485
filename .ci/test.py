"""Everything that is checked, on a machine with nothing but Python 3.11 with venv and pip.

Standard library only: this runs before anything is installed.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
SCRIPTS = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = SCRIPTS / ("python.exe" if os.name == "nt" else "python")
CONSTRAINTS = ROOT / ".ci" / "constraints.txt"
CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
APT_CHROMIUM = ("chromium", "fonts-dejavu-core")
APT_POSTGRES = ("postgresql",)


class Missing(Exception):
    """Something this machine lacks and that cannot be installed from here."""


def main() -> int:
    os.chdir(ROOT)
    # Compiled files are kept: otherwise every worker, and every server that a test starts,
    # compiles the whole program anew.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    started = time.monotonic()
    try:
        install_python_packages()
        install_system_programs()
    except Missing as missing:
        print(f"Cannot test here: {missing}", file=sys.stderr)
        return 1
    installed = time.monotonic()
    print(f"Ready after {installed - started:.0f} s", flush=True)

    check(SCRIPTS / "ruff", "check", "--no-cache", ".")
    check(SCRIPTS / "ruff", "format", "--check", "--no-cache", ".")
    # It works on one core: beside the tests it costs half of its time.
    with beside(PYTHON, "-m", "mypy"):
        counts = [pytest("-m", "not browser", "-n", "auto", "--maxprocesses", "4")]
    # The browser layer after the rest: beside it, it would wait for its turn, and every other
    # test's time with it. Two browsers at once take a fifth less time than one on two cores.
    counts.append(
        pytest(
            "-m",
            "browser",
            "tests/browser",
            "-n",
            "auto",
            "--maxprocesses",
            "2",
            "--dist",
            "loadfile",
        )
    )
    print(f"All checks took {time.monotonic() - installed:.0f} s, installing apart")
    print(
        f"Total: {sum(good for good, _ in counts)} passed, {sum(bad for _, bad in counts)} failed"
    )
    return 1 if any(bad for _, bad in counts) or not all(good for good, _ in counts) else 0


def install_python_packages() -> None:
    """A virtual environment with the pinned versions; nothing to do when it is unchanged."""
    if sys.version_info < (3, 11):  # noqa: UP036  this file runs on whatever is there
        raise Missing(f"Python 3.11 or newer is needed, this is {sys.version.split()[0]}")
    wanted = sha256((ROOT / "pyproject.toml").read_bytes() + CONSTRAINTS.read_bytes()).hexdigest()
    stamp = VENV / "installed-for-tests"
    if stamp.exists() and stamp.read_text() == wanted and PYTHON.exists():
        return
    if not PYTHON.exists():
        print("Making .venv", flush=True)
        made = subprocess.run([sys.executable, "-m", "venv", VENV])
        if made.returncode:
            shutil.rmtree(VENV, ignore_errors=True)
            raise Missing("Python's venv module; on Debian or Ubuntu: apt-get install python3-venv")
    print("Installing the pinned packages into .venv", flush=True)
    done = subprocess.run([PYTHON, "-m", "pip", "install", "-q", "-c", CONSTRAINTS, "-e", ".[dev]"])
    if done.returncode:
        raise Missing("the Python packages could not be installed; pip says why above")
    stamp.write_text(wanted)


def install_system_programs() -> None:
    """Chromium and PostgreSQL's server: by apt where that is possible, else told."""
    lacking: list[tuple[str, tuple[str, ...]]] = []
    if not has_chromium():
        lacking.append(("Chromium", APT_CHROMIUM))
    if not has_postgres():
        lacking.append(("PostgreSQL's server programs", APT_POSTGRES))
    if not lacking:
        return
    names = " and ".join(name for name, _ in lacking)
    packages = [package for _, some in lacking for package in some]
    root = hasattr(os, "geteuid") and os.geteuid() == 0
    if not root or shutil.which("apt-get") is None:
        raise Missing(f"{names}; on Debian or Ubuntu: apt-get install {' '.join(packages)}")
    print(f"Installing {names} by apt", flush=True)
    environment = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    install = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *packages]
    for command in (["apt-get", "update", "-qq"], install):
        subprocess.run(command, env=environment, stdout=subprocess.DEVNULL)
    still = [
        name
        for name, found in (("Chromium", has_chromium()), ("PostgreSQL", has_postgres()))
        if not found
    ]
    if still:
        raise Missing(f"{' and '.join(still)}, which apt could not install")


def has_chromium() -> bool:
    return any(shutil.which(name) for name in CHROMIUM_NAMES)


def has_postgres() -> bool:
    return ask("from tests.postgres import programs; print(programs() is not None)") == "True"


def ask(program: str) -> str:
    """What a line of Python prints inside the environment."""
    told = subprocess.run([PYTHON, "-c", program], capture_output=True, text=True)
    return told.stdout.strip()


def check(*command: Path | str) -> None:
    print("+", Path(command[0]).name, *command[1:], flush=True)
    if code := subprocess.run([str(part) for part in command]).returncode:
        raise SystemExit(code)


@contextmanager
def beside(*command: Path | str) -> Iterator[None]:
    """A check while the block does its work; what it found is told after, and may end the run."""
    print("+", Path(command[0]).name, *command[1:], "(while the tests run)", flush=True)
    with tempfile.TemporaryFile() as said:
        words = [str(part) for part in command]
        started = subprocess.Popen(words, stdout=said, stderr=subprocess.STDOUT)
        try:
            yield
        finally:
            code = started.wait()
            said.seek(0)
            print(
                f"{' '.join(words[1:])} found:\n{said.read().decode(errors='replace')}", flush=True
            )
    if code:
        raise SystemExit(code)


def pytest(*arguments: str) -> tuple[int, int]:
    """Run tests; how many passed and how many did not."""
    print("+ pytest", *arguments, flush=True)
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "report.xml"
        code = subprocess.run(
            [PYTHON, "-m", "pytest", *arguments, f"--junitxml={report}", "--durations=5"]
        ).returncode
        suites = ElementTree.parse(report).getroot().iter("testsuite") if report.exists() else ()
        tests = bad = 0
        for suite in suites:
            tests += int(suite.get("tests", "0"))
            bad += sum(int(suite.get(name, "0")) for name in ("failures", "errors", "skipped"))
    if code:
        bad = max(bad, 1)
    return max(tests - bad, 0), bad


if __name__ == "__main__":
    raise SystemExit(main())
