"""Which ring would save a position, in words and figures for its page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from app.calc.pocket import MetalLimits, Neighbour
from app.calc.rescue import Answer, Finding
from app.calc.shown import shown_nm
from app.calc.units import Length
from app.db import Database
from app.forms.base import Form
from app.forms.field_text import field_text
from app.forms.rescues import RescueForm
from app.queries.rescues import RescueView, rescue_view
from app.services.owned import the_port
from app.web.bench_page import position_words, strip_words
from app.web.render import page
from app.workflow.words import Way, counted
from app.worksheets.rescue import FLOOR, RescueChoice, RescueWorking
from app.worksheets.rescue_ground import AS_CUT, OLD_POCKET

SHOWN_OPEN = 3  # the rest of the rings that may do stand folded
WALL = "cleans up the old wall"
WORDS = {Answer.YES: "yes", Answer.NO: "no", Answer.NOT_KNOWN: "not known"}


@dataclass(frozen=True, slots=True)
class FindingLine:
    """A question, its answer as a word, and the figures under it."""

    question: str
    answer: str
    told: str


@dataclass(frozen=True, slots=True)
class RingCard:
    """One ring with its figures, what is found of it, and where one goes with it."""

    key: str
    name: str
    where: str
    made_of: str
    is_measured: bool
    od: str
    bore: str
    depth: str
    size: str
    reading: str
    per_side: str
    findings: tuple[FindingLine, ...]
    not_known: tuple[str, ...]
    box_id: int | None
    ring_id: int | None
    want_href: str  # empty for what is here already


def rescue_page(
    request: Request,
    db: Database,
    port_id: int,
    form: Form | None = None,
    status: int = 200,
) -> Response:
    """The page; `form` is a ring that could not be taken."""
    with db.read() as session:
        found = the_port(session, port_id)
        asked = RescueForm(dict(request.query_params), unit=found[0].unit)
        view = rescue_view(session, found, asked.inside if asked.ok else None)
    if request.method == "POST":
        asked = RescueForm.showing()
    working = view.working
    possible = _cards(view, working.possible) if working else ()
    opened = SHOWN_OPEN if working and working.says_how_large else 0
    return page(
        request,
        "rescues/show.html",
        status,
        nav="bench",
        view=view,
        working=working,
        who=strip_words(view.job, view.head, view.customer),
        title=position_words(view.port, view.name),
        asked=asked,
        form=form or Form.showing(),
        unit=view.unit,
        facts=_facts(view),
        shown=possible[:opened],
        folded=possible[opened:],
        others=_cards(view, working.others) if working else (),
        order=_order(view),
        counted=counted,
        larger=Way.LARGER_RING,
    )


def _cards(view: RescueView, choices: Sequence[RescueChoice]) -> tuple[RingCard, ...]:
    assert view.working is not None
    return tuple(_card(view, view.working, n, choice) for n, choice in enumerate(choices, 1))


def _card(view: RescueView, working: RescueWorking, nth: int, choice: RescueChoice) -> RingCard:
    unit, candidate, offer = view.unit, choice.candidate, choice.offer
    setting = choice.setting
    about = "" if candidate.ring.is_measured else "about "
    wall = next(one for one in choice.findings if one.question == WALL)
    return RingCard(
        key=f"{'may' if candidate.is_possible else 'not'}-{nth}",
        name=offer.ring.name,
        where=offer.told,
        made_of=offer.material,
        is_measured=candidate.ring.is_measured,
        od=candidate.ring.od.shown(unit, 5 if candidate.ring.is_measured else 4, 4),
        bore=about + candidate.bore.shown(unit, 5 if candidate.ring.is_measured else 4, 4),
        depth=about + candidate.depth.shown(unit) if candidate.depth else "not known",
        size=setting.set_size.shown(unit, 5, 4) if setting else "",
        reading=_reading(setting.size.reading, unit) if setting and setting.size else "",
        per_side=_figure(wall.figure, unit) if wall.figure is not None else "not known",
        findings=tuple(_line(one, working, choice, unit) for one in choice.findings),
        not_known=choice.not_known,
        box_id=offer.box_id,
        ring_id=offer.ring_id,
        want_href=_want_href(view, choice) if offer.size_id else "",
    )


def _line(one: Finding, working: RescueWorking, choice: RescueChoice, unit: str) -> FindingLine:
    answer, limits = WORDS[one.answer], working.ground.limits
    floor = working.ground.floor_cut
    if one.question == FLOOR and floor is not None:
        depth = choice.candidate.depth
        told = "" if depth is None else f"{_figure(depth, unit)} deep; cut at "
        return FindingLine("goes down to the floor as cut", answer, f"{told}{_figure(floor, unit)}")
    if one.spare is None:
        return FindingLine(one.question, answer, "")
    if one.figure is None:
        way = "smaller" if one.spare.nm > 0 else "larger"
        by = f"{_figure(abs(one.spare), unit)} {way} than that"
        return FindingLine(
            one.question, answer, f"its inside is {by if one.spare else 'just that'}"
        )
    words, least = _asked(one.question, limits)
    question = one.question
    if question == WALL and working.ground.told == AS_CUT:
        question = "cuts the bore as it is true again"
    return FindingLine(
        question,
        answer,
        f"{_apart(one.figure, least, unit)} {words}, {_figure(least, unit)} asked",
    )


def _asked(question: str, limits: MetalLimits) -> tuple[str, Length]:
    if question == WALL:
        return "cut where least is cut", limits.stock
    if question == FLOOR:
        return "cut off the floor", limits.floor_clean_up
    if question.startswith("leaves the web"):
        return "left", limits.least_web
    return "left", limits.least_wall


def _figure(length: Length, unit: str) -> str:
    return length.shown(unit, 4, 3)


def _apart(figure: Length, least: Length, unit: str) -> str:
    """As many digits as tell on which side of what is asked a figure lies."""
    asked = least.shown(unit, 4, 3)
    for more in range(4):
        text = shown_nm(figure.nm, unit, inch_places=4 + more, mm_places=3 + more)
        if figure == least or text.rstrip("0") != asked.rstrip("0"):
            return text
    return text


def _reading(reading: Length, unit: str) -> str:
    return reading.shown(unit, 5, 4)


def _facts(view: RescueView) -> list[tuple[str, str, str]]:
    """What the pocket is and what stands beside it: name, words, class."""
    working = view.working
    if working is None:
        return []
    unit, pocket = view.unit, working.ground.pocket

    def told(length: Length | None) -> tuple[str, str]:
        return ("not known", "") if length is None else (f"{length.shown(unit)} {unit}", "fig")

    found = [("Widest diameter", *told(pocket.bore_max))]
    if working.ground.told == OLD_POCKET:
        found.append(("Run-out to the guide", *told(pocket.run_out)))
    if working.ground.has_floor:
        found.append(("Deepest floor", *told(working.ground.floor_cut or pocket.deepest_floor)))
    found.append(("Thinnest wall", *told(pocket.thinnest_wall)))
    found += [
        (f"Beside: {each.position}", *_beside(each, unit)) for each in working.ground.neighbours
    ]
    return found


def _beside(each: Neighbour, unit: str) -> tuple[str, str]:
    if each.centre_distance is None:
        return "bore or centres not known", ""
    return f"bore {each.bore.shown(unit)}, centres {each.centre_distance.shown(unit)} {unit}", "fig"


def _order(view: RescueView) -> dict[str, str]:
    """What to order when nothing is at hand: words of a range, and the way to want it."""
    working = view.working
    if working is None:
        return {}
    wanted, unit = working.result.wanted, view.unit
    if not wanted.exists:
        return {"told": "By these figures no ring both cleans up and leaves wall and web."}

    def shown(length: Length | None) -> str:
        return "" if length is None else length.shown(unit)

    low, high = shown(wanted.od_least), shown(wanted.od_most)
    told = f"outside {low} to {high}" if low and high else ""
    told = told or (f"outside from {low}" if low else f"outside up to {high}" if high else "")
    parts = [told or "outside not known"]
    if wanted.height_least is not None:
        parts.append(f"height {shown(wanted.height_least)} or more")
    if wanted.ring_id_most is not None:
        parts.append(f"inside {shown(wanted.ring_id_most)} or less")
    fields = {
        "od_from": wanted.od_least,
        "od_to": wanted.od_most,
        "height": wanted.height_least,
        "inside": wanted.ring_id_most,
    }
    return {
        "told": f"{'; '.join(parts)} {unit}.",
        "href": _href(view, {name: _typed(length, view) for name, length in fields.items()}),
    }


def _want_href(view: RescueView, choice: RescueChoice) -> str:
    offer, ring = choice.offer, choice.offer.ring
    fields = {
        "od_from": _typed(ring.od, view),
        "height": _typed(ring.height, view),
        "inside": _typed(ring.ring_id, view),
        "supplier": offer.supplier,
        "note": " ".join(filter(None, [offer.part, offer.material])),
        "ring_size": str(offer.size_id or ""),
    }
    return _href(view, fields)


def _typed(length: Length | None, view: RescueView) -> str:
    return field_text(length, view.job.unit)


def _href(view: RescueView, fields: dict[str, str]) -> str:
    asked = urlencode({name: text for name, text in fields.items() if text})
    return f"/positions/{view.port.id}/wanted-rings/new?{asked}"
