"""Open points with the page where each is closed, so that a shut gate is a list of ways on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.web import addresses
from app.workflow.permissions import Verb
from app.workflow.requirements import AskedPoint, told_together
from app.workflow.words import Page
from app.worksheets.facts import HeadSheet


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """What is open in words, where it is closed, and who may."""

    words: str
    page: Page
    href: str
    verb: Verb


def places_of(points: Iterable[AskedPoint], sheet: HeadSheet, number: str) -> list[OpenPoint]:
    """One line for the positions that want the same; its link goes to the first of them."""
    lines: dict[tuple[str, str], list[AskedPoint]] = {}
    for point in points:
        lines.setdefault((point.key, point.point.told), []).append(point)
    found = []
    for group in lines.values():
        first = group[0]
        href = _address(first, sheet, number)
        if first.page is Page.RING_IN and len(group) > 1:
            href = addresses.of_page(Page.RINGS_IN, number, sheet.head.id)
        found.append(
            OpenPoint(
                words=told_together(group)[0],
                page=first.page,
                href=href,
                verb=first.requirement.closing.by,
            )
        )
    return found


def _address(point: AskedPoint, sheet: HeadSheet, number: str) -> str:
    rows = next((each for each in sheet.rows.ports if each.label == point.label), None)
    return addresses.of_page(
        point.page,
        number,
        sheet.head.id,
        rows.port.id if rows else None,
        rows.port.ring_set_id if rows else None,
    )
