"""What came with a job against what goes out with it, part by part."""

from __future__ import annotations

from collections.abc import Mapping

NOTHING = "nothing"  # what is counted, with 0 pieces, when a head came bare


def uncounted(came: Mapping[str, int], went: Mapping[str, int]) -> tuple[str, ...]:
    """Parts that came in and of which nobody said how many go out."""
    return tuple(what for what, pieces in came.items() if pieces and what not in went)


def differences(came: Mapping[str, int], went: Mapping[str, int]) -> tuple[str, ...]:
    """``valves: 8 came in, 7 go out, 1 fewer``, once anything is counted out."""
    if not went:
        return ()
    found = []
    for what in dict.fromkeys([*came, *went]):
        if what == NOTHING:
            continue
        into = came.get(what, 0)
        if what not in went:
            if into:
                found.append(f"{what}: {into} came in, not counted out yet")
            continue
        out = went[what]
        if out != into:
            how = f"{into - out} fewer" if out < into else f"{out - into} more"
            found.append(f"{what}: {into} came in, {out} go out, {how}")
    return tuple(found)
