"""Where the files that are not Python live: in the wheel, or beside the package in a checkout."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

_PACKAGE = Path(__file__).resolve().parent
# Where another process of this program finds it.
HOME = _PACKAGE.parent


def folder(name: Literal["templates", "static", "migrations"]) -> Path:
    """The folder `name`, bundled in an installed wheel or at the root of a checkout."""
    bundled = _PACKAGE / "_bundled" / name
    return bundled if bundled.is_dir() else _PACKAGE.parent / name
