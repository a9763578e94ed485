"""The shop's sign for pages that name none: issued sheets are bytes without links."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import FileResponse

from app.paths import folder

router = APIRouter()


@router.get("/favicon.ico")
def show() -> FileResponse:
    return FileResponse(
        folder("static") / "icon.svg",
        media_type="image/svg+xml",
        headers={"Cache-Control": "public, max-age=86400"},
    )
