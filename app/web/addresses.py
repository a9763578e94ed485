"""Where things stand in the address bar; pages link by these."""

from __future__ import annotations

from urllib.parse import quote

from app.workflow.words import Page


def job(number: str) -> str:
    """The counter's page of a job."""
    return f"/jobs/{number}"


def tag(number: str) -> str:
    """The tag to print: where the counter goes once a job is taken in."""
    return f"/jobs/{number}/tag"


def photos(number: str, of: str = "", about: str = "") -> str:
    """The pictures of a job; the chooser stands where the last one was taken."""
    asked = "&".join(
        f"{name}={quote(value)}" for name, value in (("of", of), ("about", about)) if value
    )
    return f"/jobs/{number}/photos{'?' if asked else ''}{asked}"


def plan(number: str, *, together: bool = False) -> str:
    """The setting plan of a job."""
    return f"/jobs/{number}/plan{'?together=yes' if together else ''}"


def setting(setting_id: int) -> str:
    """One setting."""
    return f"/settings/{setting_id}"


def cut(port_id: int, setting_id: int | None = None) -> str:
    """The cut page of a position, with the setting that is in the cutter."""
    return f"/positions/{port_id}/cut{f'?setting={setting_id}' if setting_id else ''}"


def overcut(cutter_id: int, material: str = "") -> str:
    """What a cutter has cut, drawn; in one head material."""
    return f"/crib/cutters/{cutter_id}#overcut{f'-{material}' if material else ''}"


def clamp_up(head_id: int, back: str = "") -> str:
    """Fixing a head on a machine, and where one goes once it is fixed."""
    return f"/heads/{head_id}/clamp-ups/new{f'?back={quote(back)}' if back else ''}"


def search(text: str) -> str:
    """The counter, searching."""
    return f"/counter?q={quote(text)}"


def of_page(
    page: Page,
    number: str,
    head_id: int | None = None,
    port_id: int | None = None,
    ring_set_id: int | None = None,
) -> str:
    """Where an open point is closed."""
    of_job = {
        Page.CONSENT: "consent",
        Page.RECEIVED: "received",
        Page.PARTS_OUT: "received?way=out",
        Page.SETTING: "plan",
        Page.SIGNATURE: "sign",
        Page.HAND_OVER: "hand-over",
        Page.WAITING: "waiting",
        Page.END: "end",
    }
    of_head = {
        Page.INTAKE: "edit",
        Page.LAYOUT: "edit",
        Page.POSITIONS: "positions",
        Page.INSPECTIONS: "inspections",
        Page.STEM_HEIGHTS: "stem-heights",
        Page.GUIDES: "guides",
        Page.POCKETS: "pockets",
        Page.RINGS_IN: "rings-in",
        Page.HEAT: "heat",
        Page.FINISH: "finish",
    }
    of_port = {Page.CUT: "cut", Page.HOLD: "hold", Page.RING_IN: "ring-in"}
    if page in of_job:
        return f"/jobs/{number}/{of_job[page]}"
    if page in of_head and head_id is not None:
        return f"/heads/{head_id}/{of_head[page]}"
    if page in of_port and port_id is not None:
        return f"/positions/{port_id}/{of_port[page]}"
    if page is Page.RING_SET:
        return f"/ring-sets/{ring_set_id}" if ring_set_id else f"/jobs/{number}/ring-sets/new"
    return job(number)
