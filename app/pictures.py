"""Pictures on disk: read by content, turned upright, stripped, named by their hash."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

# The limit below stands in its place: in words, and before a pixel is decoded.
Image.MAX_IMAGE_PIXELS = None
FORMATS = ("JPEG", "PNG", "WEBP")
MOST_BYTES = 20 * 1024 * 1024
MOST_PIXELS = 60_000_000
LONGEST_EDGE = 2560
SMALL_EDGE = 480
QUALITY = 85
NOTHING_KEPT = "Nothing was stored; the other pictures are as they were."


class NotAPicture(ValueError):
    """What was sent cannot be kept as a picture; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture as kept: the hashes that its two files are named by, and its size."""

    sha256: str
    small_sha256: str
    width: int
    height: int
    size: int


def keep_picture(data: bytes, folder: Path) -> Picture:
    """Write the picture and its small copy into `folder`, synced to disk, before any row names
    them. Everything but the pixels is left behind: place, camera, time, comments."""
    upright = _read(data)
    large = _encoded(_within(upright, LONGEST_EDGE))
    small = _encoded(_within(upright, SMALL_EDGE))
    for encoded in (small, large):
        _write(file_of(folder, sha256(encoded).hexdigest()), encoded)
    width, height = _within(upright, LONGEST_EDGE).size
    return Picture(
        sha256=sha256(large).hexdigest(),
        small_sha256=sha256(small).hexdigest(),
        width=width,
        height=height,
        size=len(large),
    )


def file_of(folder: Path, digest: str) -> Path:
    """Where the bytes with this hash stand."""
    return folder / digest[:2] / f"{digest}.jpg"


def _read(data: bytes) -> Image.Image:
    if not data:
        raise NotAPicture(f"no picture came with it; choose one. {NOTHING_KEPT}")
    if len(data) > MOST_BYTES:
        raise NotAPicture(
            f"is larger than {MOST_BYTES // 1024 // 1024} MB; take it smaller. {NOTHING_KEPT}"
        )
    try:
        # Opening reads the header only: size and kind are known before any pixel is decoded.
        found = Image.open(BytesIO(data), formats=FORMATS)
        if found.width * found.height > MOST_PIXELS:
            raise NotAPicture(
                f"has more than {MOST_PIXELS // 1_000_000} million pixels; take it smaller. "
                f"{NOTHING_KEPT}"
            )
        found.draft("RGB", (LONGEST_EDGE, LONGEST_EDGE))
        return _flat(ImageOps.exif_transpose(found))
    except UnidentifiedImageError:
        raise NotAPicture(
            f"is not a JPEG, PNG or WebP picture, whatever its name says. {NOTHING_KEPT}"
        ) from None
    except (OSError, SyntaxError, ValueError) as broken:
        if isinstance(broken, NotAPicture):
            raise
        raise NotAPicture(
            f"is damaged and cannot be read to its end; take it again. {NOTHING_KEPT}"
        ) from None


def _flat(found: Image.Image) -> Image.Image:
    """Colours only, on white where it was clear."""
    if found.mode in ("RGBA", "LA", "PA") or "transparency" in found.info:
        clear = found.convert("RGBA")
        white = Image.new("RGBA", clear.size, "white")
        return Image.alpha_composite(white, clear).convert("RGB")
    return found.convert("RGB")


def _within(picture: Image.Image, edge: int) -> Image.Image:
    if max(picture.size) <= edge:
        return picture
    return ImageOps.contain(picture, (edge, edge), Image.Resampling.LANCZOS)


def _encoded(picture: Image.Image) -> bytes:
    out = BytesIO()
    # A new file of pixels: no EXIF, no profile, no comment comes along.
    bare = Image.frombytes("RGB", picture.size, picture.tobytes())
    bare.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def _write(target: Path, data: bytes) -> None:
    """Whole or not at all, and on the disk before it is named by its hash."""
    if target.exists():
        return
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=target.parent, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        Path(name).replace(target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    if os.name == "posix":
        folder = os.open(target.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
