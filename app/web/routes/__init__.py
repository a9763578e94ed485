"""One file a noun; every file here with a `router` is served."""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules

from fastapi import APIRouter

ROUTERS: list[APIRouter] = [
    import_module(f"{__name__}.{module.name}").router for module in iter_modules(__path__)
]
