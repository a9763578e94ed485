"""The wheel carries all that is not Python and runs where there is no checkout."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
OFFLINE = ("--no-deps", "--no-index")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built offline by the pinned build backend."""
    target = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", target],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    (built,) = target.glob("*.whl")
    return built


def test_the_wheel_carries_templates_static_files_and_migrations(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        carried = set(archive.namelist())
    for name in ("templates", "static", "migrations"):
        files = [path for path in (ROOT / name).rglob("*") if path.is_file()]
        wanted = {
            f"app/_bundled/{path.relative_to(ROOT).as_posix()}"
            for path in files
            if "__pycache__" not in path.parts
        }
        assert wanted
        assert wanted <= carried


def test_the_wheel_carries_no_tests(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        tops = {name.partition("/")[0] for name in archive.namelist()}
        compiled = [name for name in archive.namelist() if "__pycache__" in name]
    assert {top for top in tops if not top.endswith(".dist-info")} == {"app", "seed_demo"}
    assert compiled == []


def test_an_installed_wheel_runs_from_another_folder(wheel: Path, tmp_path: Path) -> None:
    installed = tmp_path / "installed"
    subprocess.run(
        [sys.executable, "-m", "pip", "install", "-q", *OFFLINE, "--target", installed, wheel],
        check=True,
        capture_output=True,
    )
    # Isolated from the checkout: the editable install's folder would be found otherwise.
    program = f"""
import sys
sys.path[:] = [{str(installed)!r}] + [p for p in sys.path if p != {str(ROOT)!r} and p != ""]
import app, app.paths, app.migrate
from app.config import Settings
from app.main import create_app
from starlette.testclient import TestClient
from pathlib import Path
assert Path(app.__file__).is_relative_to({str(installed)!r}), app.__file__
settings = Settings(data=Path.cwd(), trusted_hosts=("testserver",))
print(app.migrate.upgrade(settings.url).after)
with TestClient(create_app(settings)) as client:
    print(client.get("/healthz").json()["status"])
    print(client.get("/static/app.css").status_code)
"""
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    done = subprocess.run(
        [sys.executable, "-P", "-c", program],
        cwd=elsewhere,
        capture_output=True,
        text=True,
        env={name: value for name, value in os.environ.items() if name != "PYTHONPATH"},
    )
    assert done.returncode == 0, done.stderr
    newest = sorted((ROOT / "migrations" / "versions").glob("*.py"))[-1].name[:4]
    assert done.stdout.split() == [newest, "ok", "200"]
