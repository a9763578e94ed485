"""How the texts of a job become the words that find it, and what is typed becomes a search."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from app.workflow.folding import casting_keys, digits, phone_keys, words
from app.workflow.kinds import Said

MOST_TYPED = 8
# Nobody can type it: a word that begins with it is a mark, found whole or not at all.
MARK = "\ue000"


class Source(Said):
    """Where a word of a job stands."""

    NUMBER = "number", "number"
    CUSTOMER = "customer", "customer"
    PHONE = "phone", "phone"
    AGREED = "agreed", "agreed by"
    COLLECTED = "collected", "collected by"
    WANTED = "wanted", "wanted"
    COMEBACK = "comeback", "came back"
    WAITING = "waiting", "waits for"
    ENDED = "ended", "ended"
    CASTING = "casting", "casting"
    SERIAL = "serial", "serial"
    ENGINE = "engine", "engine"
    NOTE = "note", "note"
    LOT = "lot", "seat rings, lot"
    PART = "part", "seat rings, part"
    SUPPLIER = "supplier", "seat rings from"
    RINGS = "rings", "seat rings"
    # Told by id: their names may change, and only few of them are in a shop.
    CUTTER = "cutter", "cutter"
    PERSON = "person", "person"
    MATERIAL = "material", "material"


_Told = Callable[[str], str]
MARKED = (Source.CUTTER, Source.PERSON, Source.MATERIAL)
_NUMBERS = (Source.CASTING, Source.SERIAL, Source.LOT, Source.PART)


def mark(source: Source, text: str) -> str:
    """The one word that stands for a cutter, a person or a material.

    >>> mark(Source.CUTTER, "7")[1:]
    'cutter7'
    """
    return f"{MARK}{source.value}{text.replace('_', '')}"


def words_of(source: Source, text: str) -> set[str]:
    """What finds a text from one source.

    >>> sorted(words_of(Source.NUMBER, "26-0142"))
    ['0142', '142', '260142']
    >>> sorted(words_of(Source.LOT, "A-77"))
    ['77', 'a', 'a77']
    """
    if source in MARKED:
        return {mark(source, text)}
    if source is Source.NUMBER:
        last = text.rpartition("-")[2]
        return {digits(text), last, last.lstrip("0")}
    if source is Source.PHONE:
        return phone_keys(text) | set(words(text))
    if source in _NUMBERS:
        return casting_keys(text) | set(words(text))
    return set(words(text))


def all_words(texts: Iterable[tuple[Source, str]]) -> str:
    """Every word of a job once, in order."""
    return " ".join(sorted({word for source, text in texts for word in words_of(source, text)}))


@dataclass(frozen=True, slots=True)
class Wanted:
    """A search: each group has to be met by one of its marks or by a word that begins so.

    `joined` is everything typed as one word, which meets them all: numbers are typed in parts.
    """

    groups: tuple[tuple[str, tuple[str, ...]], ...]
    joined: str = ""
    marks: tuple[str, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Nothing to look for."""
        return not (self.groups or self.marks)

    def fits(self, source: Source, text: str) -> bool:
        """Whether a text of a found job is what was looked for, or a part of it."""
        own = words_of(source, text)
        begins = [beginning for beginning, _ in self.groups] + [self.joined] * bool(self.joined)
        return any(word.startswith(each) for word in own for each in begins) or any(
            each in own for _, marks in self.groups for each in marks
        )

    def for_sqlite(self) -> str:
        """As FTS5 reads it."""
        typed = " AND ".join(
            "(" + " OR ".join([f'"{begins}"*', *(f'"{each}"' for each in marks)]) + ")"
            for begins, marks in self.groups
        )
        return self._with_marks(typed, " OR ", " AND ", lambda w: f'"{w}"*', lambda w: f'"{w}"')

    def for_postgresql(self) -> str:
        """As a tsquery."""
        typed = " & ".join(
            "(" + " | ".join([f"'{begins}':*", *(f"'{each}'" for each in marks)]) + ")"
            for begins, marks in self.groups
        )
        return self._with_marks(typed, " | ", " & ", lambda w: f"'{w}':*", lambda w: f"'{w}'")

    def _with_marks(self, typed: str, either: str, both: str, begins: _Told, whole: _Told) -> str:
        if typed and self.joined:
            typed = f"({typed}){either}{begins(self.joined)}"
        parts = ([f"({typed})"] if typed else []) + [whole(each) for each in self.marks]
        return both.join(parts)


def wanted(
    typed: str, named: Mapping[str, Iterable[str]] | None = None, marks: Iterable[str] = ()
) -> Wanted:
    """What someone looks for; `named` are marks with the name that they stand for now."""
    beginnings = list(dict.fromkeys(words(typed)))[:MOST_TYPED]
    names = {
        each: [word for name in called for word in words(name)]
        for each, called in (named or {}).items()
    }
    groups = tuple(
        (
            beginning,
            tuple(each for each, own in names.items() if any(w.startswith(beginning) for w in own)),
        )
        for beginning in beginnings
    )
    joined = "".join(beginnings) if len(beginnings) > 1 else ""
    return Wanted(groups, joined[:60], tuple(marks))
