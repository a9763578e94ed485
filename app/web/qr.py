"""Codes to scan from paper."""

from __future__ import annotations

import segno
from markupsafe import Markup


def qr_svg(address: str) -> Markup:
    """An address as a drawing that fills its box; level Q survives an oily thumb on a quarter."""
    code = segno.make(address, error="q", micro=False)
    return Markup(code.svg_inline(border=4, omitsize=True))
