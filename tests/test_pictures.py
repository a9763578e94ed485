"""Pictures on disk: only pictures, without where and with what they were taken, whole or not."""

from __future__ import annotations

from hashlib import sha256
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from app import pictures
from app.pictures import LONGEST_EDGE, SMALL_EDGE, NotAPicture, file_of, keep_picture

ORIENTATION, MAKER, GPS = 0x0112, 0x010F, 0x8825


def encoded(
    size: tuple[int, int] = (40, 20), kind: str = "JPEG", mode: str = "RGB", **options: object
) -> bytes:
    out = BytesIO()
    picture = Image.new(mode, size, (200, 30, 30) if mode == "RGB" else (0, 0, 0, 0))
    picture.save(out, kind, **options)
    return out.getvalue()


def kept(folder: Path, digest: str) -> Image.Image:
    return Image.open(file_of(folder, digest))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_picture_of_each_kind_is_kept_as_jpeg_named_by_its_hash(
    kind: str, tmp_path: Path
) -> None:
    found = keep_picture(encoded(kind=kind), tmp_path)
    for digest in (found.sha256, found.small_sha256):
        content = file_of(tmp_path, digest).read_bytes()
        assert sha256(content).hexdigest() == digest
        assert Image.open(BytesIO(content)).format == "JPEG"
    assert (found.width, found.height) == (40, 20)
    assert found.size == file_of(tmp_path, found.sha256).stat().st_size


def test_place_and_camera_are_left_out(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[MAKER] = "Some Maker"
    exif.get_ifd(GPS)[2] = (47.0, 4.0, 11.0)
    found = keep_picture(encoded(exif=exif, comment=b"Some Name"), tmp_path)
    content = file_of(tmp_path, found.sha256).read_bytes()
    assert b"Some" not in content
    assert dict(kept(tmp_path, found.sha256).getexif()) == {}


def test_a_picture_taken_sideways_stands_upright(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    found = keep_picture(encoded((40, 20), exif=exif), tmp_path)
    assert (found.width, found.height) == (20, 40)
    assert kept(tmp_path, found.small_sha256).size == (20, 40)


def test_a_large_picture_is_made_smaller_and_keeps_its_shape(tmp_path: Path) -> None:
    found = keep_picture(encoded((5120, 1000)), tmp_path)
    assert (found.width, found.height) == (LONGEST_EDGE, 500)
    assert kept(tmp_path, found.sha256).size == (LONGEST_EDGE, 500)
    assert max(kept(tmp_path, found.small_sha256).size) == SMALL_EDGE


def test_what_was_clear_becomes_white(tmp_path: Path) -> None:
    found = keep_picture(encoded(kind="PNG", mode="RGBA"), tmp_path)
    assert kept(tmp_path, found.sha256).getpixel((5, 5)) == (255, 255, 255)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "choose one"),
        (b"bore 3E: 1.6222\n" * 50, "is not a JPEG, PNG or WebP"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "is not a JPEG, PNG or WebP"),
        (encoded(kind="GIF", mode="RGB"), "is not a JPEG, PNG or WebP"),
        (encoded((400, 300))[:600], "damaged"),
        (encoded((400, 300), kind="PNG")[:-200], "damaged"),
    ],
)
def test_anything_else_is_refused_in_words_and_leaves_no_file(
    data: bytes, says: str, tmp_path: Path
) -> None:
    with pytest.raises(NotAPicture, match=says):
        keep_picture(data, tmp_path)
    assert list(tmp_path.rglob("*")) == []


def test_a_hundred_million_pixels_are_refused_before_they_are_decoded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def decode(*_: object) -> None:
        raise AssertionError("decoded")

    data = encoded((10_000, 10_000), kind="PNG", mode="RGB")
    monkeypatch.setattr("PIL.ImageFile.ImageFile.load", decode)
    with pytest.raises(NotAPicture, match="more than 60 million pixels"):
        keep_picture(data, tmp_path)


def test_a_file_that_is_too_large_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pictures, "MOST_BYTES", 100)
    with pytest.raises(NotAPicture, match="take it smaller"):
        keep_picture(encoded(), tmp_path)


def test_a_write_that_fails_leaves_nothing_half(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space"):
        keep_picture(encoded(), tmp_path)
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []
