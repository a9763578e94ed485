"""The figures of an event, as a person reads them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum
from typing import Any, Self

from sqlmodel import Session, col, select

from app.calc.units import Length
from app.models.event import Event
from app.models.head import Port
from app.models.job import Job, PriceLine
from app.workflow.gate_table import GATES
from app.workflow.kinds import Quantity, Said, Verdict
from app.workflow.parts import NOTHING
from app.workflow.words import MONTHS, InspectionKind, InspectionWay, Outcome, Way, listed, money

# More figures than these are counted, not read out.
FEW_READINGS = 6
_KEPT_TOGETHER = "\u00a0"


@dataclass(frozen=True, slots=True)
class Names:
    """What events name only by id: price lines, positions; and the job's unit."""

    unit: str
    lines: Mapping[int, str]
    ports: Mapping[int, str]

    @classmethod
    def of(
        cls,
        session: Session,
        job_id: int,
        events: Sequence[Event],
        bodies: Mapping[int, Mapping[str, Any]],
    ) -> Self:
        """Gathered for a page of events at once."""
        job = session.get(Job, job_id)
        line_ids = [each.subject_id for each in events if each.subject == PriceLine.__tablename__]
        port_ids = {port for body in bodies.values() for port in _port_ids(body)}
        return cls(
            unit=job.unit.value if job else "in",
            lines=dict(
                session.exec(
                    select(PriceLine.id, PriceLine.text).where(col(PriceLine.id).in_(line_ids))
                ).all()
            )
            if line_ids
            else {},
            ports=dict(
                session.exec(select(Port.id, Port.label).where(col(Port.id).in_(port_ids))).all()
            )
            if port_ids
            else {},
        )

    def figures(self, event: Event, body: Mapping[str, Any]) -> str:
        """The few figures of an event that someone at the counter wants to read."""
        told = [self.lines.get(event.subject_id or 0, "")] if event.subject == "price_line" else []
        told += [self._judged(body), self._points(body)]
        if "points" not in body:
            told += [self._at(body), str(body.get("because") or "")]
        told += [self._readings(body), self._struck(body), *self._sizes(body)]
        told += [say(body[name]) for name, say in _SAID.items() if body.get(name)]
        return ", ".join(text for text in told if text)

    def size(self, nm: int) -> str:
        """A length in the job's unit."""
        return f"{Length(nm).shown(self.unit, 5, 4)}{_KEPT_TOGETHER}{self.unit}"

    def _judged(self, body: Mapping[str, Any]) -> str:
        """``inside the window, interference .0046 in``."""
        verdict, interference = body.get("verdict"), body.get("interference")
        if verdict not in set(Verdict) or not isinstance(interference, dict):
            return ""
        return f"{Verdict(verdict).screen}, interference {self.size(interference['nm'])}"

    def _points(self, body: Mapping[str, Any]) -> str:
        """``2E and 3E: wall behind the counterbore: no thickness gauge here``."""
        points = body.get("points")
        if not isinstance(points, list):
            return ""
        what = listed([_POINTS[key] for key in points if key in _POINTS])
        at = self._at(body).removeprefix("at ")
        return ": ".join(filter(None, [at, what, str(body.get("because") or "")]))

    def _at(self, body: Mapping[str, Any]) -> str:
        labels = [self.ports[port] for port in _numbers(body.get("ports")) if port in self.ports]
        return f"at {listed(labels)}" if labels else ""

    def _readings(self, body: Mapping[str, Any]) -> str:
        """``bore 1.6222, 1.6221``; where there are many, ``8 of stem height``."""
        rows = body.get("readings")
        if not isinstance(rows, list):
            return ""
        known = [(what, nm) for _, what, nm in _threes(rows) if what in set(Quantity)]
        if len(known) > FEW_READINGS:
            counts = Counter(what for what, _ in known)
            return ", ".join(f"{n} of {Quantity(each).screen}" for each, n in counts.items())
        by_kind: dict[str, list[str]] = {}
        for what, nm in known:
            by_kind.setdefault(what, []).append(Length(nm).shown(self.unit, 4, 3))
        told = [f"{Quantity(each).screen} {', '.join(sizes)}" for each, sizes in by_kind.items()]
        return f"{'; '.join(told)}{_KEPT_TOGETHER}{self.unit}" if told else ""

    def _struck(self, body: Mapping[str, Any]) -> str:
        """``3 struck``; of one struck by hand its figure and why."""
        rows, value, reason = body.get("struck"), body.get("value"), body.get("reason")
        if isinstance(rows, list) and rows:
            return f"{len(rows)} struck"
        size = self.size(value) if isinstance(value, int) and "reading" in body else ""
        return ": ".join(filter(None, [size, str(reason or "")]))

    def _sizes(self, body: Mapping[str, Any]) -> Iterable[str]:
        for name, words in _SIZES.items():
            size = body.get(name)
            if isinstance(size, dict) and isinstance(size.get("nm"), int):
                yield f"{words} {self.size(size['nm'])}"


def _port_ids(body: Mapping[str, Any]) -> list[int]:
    return _numbers(body.get("ports"))


def _numbers(given: object) -> list[int]:
    return [each for each in given if isinstance(each, int)] if isinstance(given, list) else []


def _threes(rows: Iterable[Any]) -> list[tuple[int, str, int]]:
    return [tuple(row) for row in rows if isinstance(row, list) and len(row) == 3]


# The same point may stand at two gates; it is called the same at both.
_POINTS = {line.key: line.screen for version in GATES.values() for line in version}

_SIZES = {
    "target": "counterbore",
    "set_size": "cutter to",
    "reading": "fixture to",
    "achieved": "reads",
    "expected_bore": "will bore",
    "error": "was off by",
    "touch_off": "touch-off",
    "od_from": "outside from",
    "od_to": "to",
    "protrusion": "proud by",
}


def _day(text: str) -> str:
    day = date.fromisoformat(text)
    return f"{day.day} {MONTHS[day.month - 1]}"


def _counts(rows: list[list[Any]]) -> str:
    return ", ".join(what if what == NOTHING else f"{pieces} {what}" for what, pieces in rows)


def _inspections(rows: list[list[Any]]) -> str:
    """``crack test OK, deck flatness not done``."""
    told = [
        f"{_word(InspectionKind, kind)} {_word(Outcome, how)}" for _, kind, how in _threes(rows)
    ]
    return ", ".join(told)


def _decided(rows: list[list[Any]]) -> str:
    counts = Counter(str(said).replace("_", " ") for _, said in rows)
    return ", ".join(f"{count} {said}" for said, count in counts.items())


def _word(words: type[Said] | type[Enum], word: object) -> str:
    known = {str(each.value): each for each in words}.get(str(word))
    return str(getattr(known, "screen", word)).replace("_", " ")


def _if(kind: type, say: Callable[[Any], str]) -> Callable[[Any], str]:
    """Says it of a figure of this kind; other events use the same name for something else."""
    return lambda value: say(value) if isinstance(value, kind) else ""


_SAID: dict[str, Callable[[Any], str]] = {
    "limit": _if(int, lambda minor: f"up to {money(minor)}"),
    "amount": _if(int, lambda minor: money(minor)),
    "promised": _if(str, lambda day: f"for {_day(day)}"),
    "place": _if(str, lambda place: f"at {place}"),
    "casting": str,
    "seats": str,
    "layout": str,
    "waiting": _if(str, lambda word: f"for {word}"),
    "ended": lambda word: str(word).replace("_", " "),
    "counts": _if(list, _counts),
    "positions": _if(list, lambda rows: f"{len(rows)} changed"),
    "inspections": _if(list, _inspections),
    "decided": _if(list, _decided),
    "goes_on": lambda way: _word(InspectionWay, way),
    "rings": _if(int, lambda count: f"{count} ring{'s' if count != 1 else ''}"),
    "rev": _if(int, lambda rev: f"revision {rev}"),
    "way": lambda way: Way(way).screen if way in set(Way) else "",
    "words": _if(str, str),
    "known_by": _if(str, str),
    "why": _if(str, lambda why: "" if why == "set" else why),
    "what": _if(str, str),
}
