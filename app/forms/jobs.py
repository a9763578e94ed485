"""Taking a job in, and what is said of a job as a whole."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, ClassVar

from app.forms.base import LARGEST_WHOLE, Form
from app.workflow.kinds import CustomerKind, Said, Unit

SOMEBODY_NEW = "new"
ASK_WANTED = "Write what is wanted, in the customer's words"
MOST_HEADS = 4


class HeadsIn(Said):
    """Which heads came in, as they are called on the tag."""

    ONE = "one", "one head"
    LEFT = "left"
    RIGHT = "right"
    BOTH = "both", "left and right"
    NAMED = "named", "other names"


_NAMES: dict[HeadsIn, tuple[str, ...]] = {
    HeadsIn.ONE: ("",),
    HeadsIn.LEFT: ("left",),
    HeadsIn.RIGHT: ("right",),
    HeadsIn.BOTH: ("left", "right"),
}


class CustomerChoice(Form):
    """Who a job is for: someone known, someone new, the shop itself, or nobody known."""

    names: ClassVar[dict[str, str]] = {
        "kind": "Whom it is for",
        "customer": "Customer's name",
        "customer_id": "Chosen customer",
        "phone": "Phone number",
    }

    kind: CustomerKind
    customer_id: int | None
    is_somebody_new: bool
    customer: str
    phone: str

    def parse(self) -> None:
        self.kind = self.choice("kind", CustomerKind) or CustomerKind.NAMED
        self.customer = self.text("customer", most=120)
        self.phone = self.dialled("phone")
        self.is_somebody_new = self.raw.get("customer_id", "") == SOMEBODY_NEW
        self.customer_id = None
        if self.kind is not CustomerKind.NAMED:
            return
        if not self.is_somebody_new:
            self.customer_id = self.whole("customer_id", least=1, most=LARGEST_WHOLE)
        if self.customer_id is None and "customer" not in self.errors and not self.customer:
            self.wrong(
                "customer", "Type the customer's name, or choose shop stock or owner not known"
            )


class NewJobForm(CustomerChoice):
    """A job in under a minute: for whom, which heads, what is wanted, promise, place."""

    names: ClassVar[dict[str, str]] = {
        "kind": "Whom it is for",
        "customer": "Customer",
        "customer_id": "Chosen customer",
        "phone": "Phone number",
        "heads": "Heads",
        "head_names": "Others: their names",
        "wanted": "What is wanted",
        "promise": "Promise",
        "promised_on": "Another day",
        "place": "Rack place",
        "unit": "Figures in",
        "comeback_cause": "Why it came back",
    }

    heads: tuple[str, ...]
    wanted: str
    promised_on: date | None
    place: str
    unit: Unit
    comeback_of: str
    comeback_head: int | None
    comeback_cause: str
    today: date

    def __init__(self, raw: dict[str, str], *, today: date) -> None:
        super().__init__(raw, today=today)

    def parse(self) -> None:
        super().parse()
        self.heads = self._heads()
        self.wanted = self.text(
            "wanted",
            required="Write what is wanted, in the customer's words",
            most=2000,
            lines=True,
        )
        self.promised_on = self._promise()
        self.place = self.text("place", most=60)
        self.unit = self.choice("unit", Unit, required="Choose inch or mm") or Unit.INCH
        self.comeback_of = self.text("comeback_of", most=12)
        self.comeback_head = self.whole("comeback_head", least=1) if self.comeback_of else None
        self.comeback_cause = self.text("comeback_cause", most=400) if self.comeback_of else ""

    def _heads(self) -> tuple[str, ...]:
        chosen = self.choice("heads", HeadsIn) or HeadsIn.ONE
        if chosen is not HeadsIn.NAMED:
            if self.raw.get("head_names", "").strip():
                self.wrong("head_names", "Touch “Others” for these names to count, or empty this")
            return _NAMES[chosen]
        typed = self.text("head_names", required="Type the heads' names, such as A, B", most=120)
        names = tuple(name.strip() for name in typed.split(",") if name.strip())
        if typed and not names:
            self.wrong("head_names", "Type the heads' names, such as A, B")
        if len(names) > MOST_HEADS:
            self.wrong("head_names", f"A job takes at most {MOST_HEADS} heads at once")
        if len({name.casefold() for name in names}) < len(names):
            self.wrong("head_names", "Two heads have the same name; tell them apart")
        if any(len(name) > 40 for name in names):
            self.wrong("head_names", "A head's name has at most 40 characters")
        return names

    def _promise(self) -> date | None:
        if self.raw.get("promise", "") == "other":
            return promised(
                self, self.day("promised_on", required="Choose the day that was promised")
            )
        day, typed = self.day("promise"), self.day("promised_on")
        if typed is not None and typed != day:
            self.wrong("promised_on", "Touch “other” for this day to be promised, or empty it")
        return promised(self, day, "promise")


class PromiseForm(Form):
    """A promise given, moved or taken back."""

    names: ClassVar[dict[str, str]] = {
        "promised_on": "Promised for",
    }

    promised_on: date | None
    today: date

    def __init__(self, raw: dict[str, str], *, today: date) -> None:
        super().__init__(raw, today=today)

    def parse(self) -> None:
        self.promised_on = promised(self, self.day("promised_on"))


class PlaceForm(Form):
    """Where the heads stand."""

    names: ClassVar[dict[str, str]] = {
        "place": "Rack place",
    }

    place: str

    def parse(self) -> None:
        self.place = self.text("place", most=60)


class WantedForm(Form):
    """What is wanted, in the customer's words."""

    names: ClassVar[dict[str, str]] = {
        "wanted": "What is wanted",
    }

    wanted: str

    def parse(self) -> None:
        self.wanted = self.text(
            "wanted",
            required="Write what is wanted, in the customer's words",
            most=2000,
            lines=True,
        )


def promised(form: Any, day: date | None, name: str = "promised_on") -> date | None:
    """A promised day: today at the earliest, within two years."""
    if day is None:
        return None
    if day < form.today:
        form.wrong(name, "That day is over; promise today or later, or nothing")
    elif day > form.today + timedelta(days=730):
        form.wrong(name, "That is more than two years away; is the year right?")
    return day
