"""Print the one command line that the README gives below a heading."""

from __future__ import annotations

import re
import sys
from pathlib import Path

README = Path(__file__).resolve().parent.parent / "README.md"


def command_below(heading: str, text: str | None = None) -> str:
    """The only line of the only `sh` block in the section; anything else is an error."""
    text = README.read_text(encoding="utf-8") if text is None else text
    section = re.search(rf"^## {re.escape(heading)}\n(.*?)(?=^## |\Z)", text, re.M | re.S)
    if section is None:
        raise ValueError(f"README has no section {heading!r}")
    blocks = re.findall(r"^```sh\n(.*?)^```", section[1], re.M | re.S)
    lines = [line for block in blocks for line in block.splitlines() if line.strip()]
    if len(blocks) != 1 or len(lines) != 1:
        raise ValueError(f"README, {heading}: wanted one sh block of one line, found {lines}")
    return str(lines[0].strip())


if __name__ == "__main__":
    print(command_below(sys.argv[1]))
