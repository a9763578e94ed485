"""All calculations under one prefix; a new one is a file here and a line in ENDPOINTS."""

from __future__ import annotations

from fastapi import APIRouter

from app.api.calc import (
    assembly,
    bore,
    clean_up,
    expansion,
    overcut,
    pilot,
    press_fit,
    running_fit,
    seat,
    setting,
    setting_plan,
    spindle,
    verify,
)

ENDPOINTS = (
    bore,
    setting,
    setting_plan,
    overcut,
    pilot,
    clean_up,
    spindle,
    verify,
    press_fit,
    running_fit,
    assembly,
    expansion,
    seat,
)

router = APIRouter(prefix="/api/calc")
for endpoint in ENDPOINTS:
    router.include_router(endpoint.router)
