"""Pictures for the demo, drawn here: a head from above, one of its seats burnt through."""

from __future__ import annotations

from io import BytesIO

from PIL import Image, ImageDraw, ImageFilter

_SIZE = (1280, 800)
_IRON, _DECK, _DARK, _SEAT, _SOOT = "#4b4a47", "#8d8a83", "#2b2927", "#b9b3a6", "#171412"


def head_from_above(cylinders: int = 4, burnt: int = 1, *, is_clean: bool = False) -> bytes:
    """A JPEG of a head's deck: `burnt` counts from 0 the cylinder whose exhaust seat is gone.

    `is_clean` is the same head as it goes out: washed, with a new ring where the seat was burnt.
    """
    picture = Image.new("RGB", _SIZE, "#6d5d4b")
    draw = ImageDraw.Draw(picture)
    wide, high = _SIZE
    draw.rounded_rectangle((60, 190, wide - 60, high - 190), 26, fill=_DARK)
    deck = "#a9a69e" if is_clean else _DECK
    draw.rounded_rectangle((70, 180, wide - 70, high - 210), 26, fill=deck, outline=_IRON, width=6)
    step = (wide - 240) / cylinders
    for nth in range(cylinders):
        middle = 120 + step * (nth + 0.5)
        _chamber(draw, middle, high / 2 - 15, step * 0.44, nth == burnt, is_clean)
    for nth in range(cylinders + 1):
        x = 120 + step * nth
        for y in (235, high - 265):
            draw.ellipse((x - 13, y - 13, x + 13, y + 13), fill=_DARK)
    out = BytesIO()
    picture.filter(ImageFilter.GaussianBlur(1.1)).save(out, "JPEG", quality=88)
    return out.getvalue()


def _chamber(
    draw: ImageDraw.ImageDraw, x: float, y: float, r: float, is_burnt: bool, is_clean: bool
) -> None:
    floor = "#7c7a75" if is_clean else "#3a3531"
    draw.rounded_rectangle(
        (x - r, y - r, x + r, y + r), r * 0.6, fill=floor, outline=_IRON, width=5
    )
    for side, size in ((-1, 0.40), (1, 0.47)):
        at, radius = x + side * r * 0.46, r * size
        _ring(draw, at, y, radius, "#d7d3c8" if is_clean else _SEAT)
        if side < 0 and is_burnt:
            _burnt(draw, at, y, radius, is_clean)
    draw.ellipse((x - 10, y - r * 0.78 - 10, x + 10, y - r * 0.78 + 10), fill=_DARK)


def _ring(draw: ImageDraw.ImageDraw, x: float, y: float, r: float, colour: str) -> None:
    draw.ellipse((x - r, y - r, x + r, y + r), fill=colour)
    inner = r * 0.78
    draw.ellipse((x - inner, y - inner, x + inner, y + inner), fill=_SOOT)
    guide = r * 0.2
    draw.ellipse((x - guide, y - guide, x + guide, y + guide), fill="#8a7f5f")


def _burnt(draw: ImageDraw.ImageDraw, x: float, y: float, r: float, is_clean: bool) -> None:
    if is_clean:
        draw.ellipse((x - r, y - r, x + r, y + r), outline="#f4f1e8", width=5)
        return
    # A bite out of the seat, with the light streak that gas leaves behind it.
    draw.pieslice((x - r * 1.1, y - r * 1.1, x + r * 1.1, y + r * 1.1), 150, 205, fill="#cfc3a4")
    draw.pieslice((x - r, y - r, x + r, y + r), 160, 195, fill=_SOOT)
