"""Imports point one way, so that the numbers know nothing of the web."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

# Lowest first. A layer may import itself and what stands above it in this list; nothing else.
LAYERS = (
    ("app.calc",),
    ("app.workflow",),
    ("app.config", "app.paths", "app.pictures", "app.threads"),
    ("app.db",),
    ("app.models",),
    ("app.triggers",),
    ("app.migrate",),
    ("app.forms",),
    ("app.worksheets",),
    ("app.queries",),
    ("app.services",),
    ("app.keeping",),
    ("seed_demo",),
    ("app.web",),
    ("app.api",),
    ("app.main",),
    ("app.server", "app.logs", "app.notices"),
    ("app.cli_keeping",),
    ("app.cli",),
    ("app.__main__",),
)
RANK = {name: rank for rank, names in enumerate(LAYERS) for name in names}

# Below the web, nothing knows of it.
WEB_PACKAGES = {"fastapi", "starlette", "uvicorn", "jinja2", "multipart"}
BELOW_THE_WEB = ("app.calc", "app.workflow", "app.models", "app.forms", "app.worksheets")
BELOW_THE_WEB += ("app.queries", "app.services", "app.db")
DATABASE_PACKAGES = {"sqlalchemy", "sqlmodel", "alembic", "psycopg", "sqlite3"}


def module_name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def modules() -> dict[str, Path]:
    found = [*(ROOT / "app").rglob("*.py"), *(ROOT / "seed_demo").rglob("*.py")]
    return {module_name(path): path for path in sorted(found) if "_bundled" not in path.parts}


MODULES = modules()


def layer(module: str) -> str | None:
    """The layer that `module` belongs to."""
    parts = module.split(".")
    names = (".".join(parts[:length]) for length in range(len(parts), 0, -1))
    return next((name for name in names if name in RANK), None)


def imported(path: Path, name: str) -> set[str]:
    """Every module that the file imports, inside functions and for types only as well."""
    package = name if path.name == "__init__.py" else name.rpartition(".")[0]
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                up = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*up, base] if base else up)
            # "from app import models" imports app.models
            found |= {f"{base}.{alias.name}" if base == "app" else base for alias in node.names}
    return found


@pytest.mark.parametrize("name", [name for name in MODULES if name != "app"])
def test_every_module_belongs_to_a_layer_and_imports_only_what_is_below(name: str) -> None:
    own = layer(name)
    assert own is not None, f"{name} belongs to no layer: name it in tests/test_layers.py"
    for other in imported(MODULES[name], name):
        theirs = layer(other)
        if theirs is None or theirs == own:
            continue
        assert RANK[theirs] < RANK[own], f"{name} imports {other}, which is not below it"


@pytest.mark.parametrize("name", [name for name in MODULES if layer(name) in ("app.calc",)])
def test_a_calculation_imports_the_standard_library_alone(name: str) -> None:
    tops = {other.partition(".")[0] for other in imported(MODULES[name], name)} - {"app"}
    assert tops <= sys.stdlib_module_names


@pytest.mark.parametrize(
    "name", [name for name in MODULES if layer(name) in ("app.workflow", "app.forms")]
)
def test_workflow_and_forms_know_no_database(name: str) -> None:
    tops = {other.partition(".")[0] for other in imported(MODULES[name], name)}
    assert not tops & DATABASE_PACKAGES


@pytest.mark.parametrize("name", [name for name in MODULES if layer(name) in BELOW_THE_WEB])
def test_nothing_below_the_web_knows_of_it(name: str) -> None:
    tops = {other.partition(".")[0] for other in imported(MODULES[name], name)}
    assert not tops & WEB_PACKAGES


def test_an_import_the_wrong_way_is_found(tmp_path: Path) -> None:
    file = tmp_path / "gauge.py"
    file.write_text("def f():\n    from app.services.jobs import show\n    return show\n")
    assert imported(file, "app.calc.gauge") == {"app.services.jobs"}
    assert RANK["app.services"] > RANK["app.calc"]


def test_a_relative_import_is_resolved(tmp_path: Path) -> None:
    file = tmp_path / "gauge.py"
    file.write_text("from .units import Length\nfrom ..db import now\n")
    assert imported(file, "app.calc.gauge") == {"app.calc.units", "app.db"}
