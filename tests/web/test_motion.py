"""Nothing moves on a page for someone whose device asks for less motion."""

from __future__ import annotations

import re

import pytest

from app.paths import folder

MOVES = re.compile(
    r"transition\s*:|animation[\w-]*\s*:|scroll-behavior|smooth|\.animate\(|startView"
)
WELCOME = r"@media \(prefers-reduced-motion: no-preference\) \{\n(?:  .*\n)*\}\n"


@pytest.mark.parametrize("name", ["app.css", "sheet.css", "app.js", "kept.js"])
def test_what_moves_asks_whether_motion_is_welcome(name: str) -> None:
    text = (folder("static") / name).read_text(encoding="utf-8")
    text = re.sub(r"/\*.*?\*/|^\s*//.*$", "", text, flags=re.S | re.M)
    asked, count = re.subn(WELCOME, "", text)
    assert not MOVES.search(asked)
    assert count == (1 if name == "app.css" else 0)
    assert bool(MOVES.search(text)) == (name == "app.css")
