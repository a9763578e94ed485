"""Every page of the demo shop in each of its states: who looks, and where."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sqlmodel import Session, col, select

from app.forms.sign_in import KEPT, KEPT_FOR
from app.models.customer import Customer
from app.models.head import Head, Port
from app.models.job import Job, WantedRing
from app.models.reading import Reading, ReadingSet
from app.models.ring import Ring
from app.models.setting import Setting
from app.models.sheet import Sheet
from seed_demo.shop import PINS

NOBODY = ""


class At:
    """Addresses in the demo shop, by customer and position."""

    def __init__(self, session: Session) -> None:
        self.session = session

    def job(self, customer: str) -> Job:
        """The newest job of a customer whose name begins so."""
        found = self.session.exec(
            select(Job)
            .join(Customer, col(Customer.id) == col(Job.customer_id))
            .where(col(Customer.name).startswith(customer))
            .order_by(col(Job.id).desc())
        ).first()
        assert found is not None
        return found

    def head(self, customer: str) -> Head:
        """The first head of that job."""
        return self.session.exec(
            select(Head).where(Head.job_id == self.job(customer).id, Head.nth == 1)
        ).one()

    def port(self, customer: str, label: str) -> int:
        """A position of that head."""
        head = self.head(customer)
        return self.session.exec(
            select(Port.id).where(
                Port.head_id == head.id, Port.label == label, col(Port.is_void).is_(False)
            )
        ).one()

    def ring_set(self, customer: str, label: str) -> int:
        """The ring set of a position."""
        port = self.session.get_one(Port, self.port(customer, label))
        assert port.ring_set_id is not None
        return port.ring_set_id

    def sheet(self, kind: str) -> int:
        """The first sheet of a kind."""
        found = self.session.exec(select(Sheet.id).where(Sheet.kind == kind)).first()
        assert found is not None
        return found

    def wanted_ring(self) -> int:
        """A ring that is wanted."""
        return self.session.exec(select(WantedRing.id)).one()

    def reading(self, customer: str, label: str) -> int:
        """A reading of the rings for a position."""
        found = self.session.exec(
            select(Reading.id)
            .join(ReadingSet, col(ReadingSet.id) == col(Reading.reading_set_id))
            .join(Ring, col(Ring.id) == col(ReadingSet.ring_id))
            .where(Ring.ring_set_id == self.ring_set(customer, label))
        ).first()
        assert found is not None
        return found

    def setting(self, customer: str) -> int:
        """The newest setting of that job."""
        found = self.session.exec(
            select(Setting.id)
            .where(Setting.job_id == self.job(customer).id)
            .order_by(col(Setting.id).desc())
        ).first()
        assert found is not None
        return found


SEAT = "outer=1.534&width=.09&outer_wanted=1.52&width_wanted=.07&seat_angle=45&top_angle=30"
SEAT += "&throat_angle=60&valve_head=1.56&valve_angle=44&stem=1.853&stem_wanted=1.85"


Address = Callable[[At], str]


@dataclass(frozen=True)
class State:
    """A page as this person sees it; with `sends`, the page that answers a form sent there."""

    who: str
    address: Address
    status: int = 200
    sends: Mapping[str, str] | None = None


def at_job(customer: str, page: str = "") -> Address:
    """A page of the customer's newest job."""
    return lambda at: f"/jobs/{at.job(customer).number}{page}"


def at_head(customer: str, page: str) -> Address:
    """A page of that job's first head."""
    return lambda at: f"/heads/{at.head(customer).id}{page}"


def at_port(customer: str, label: str, page: str) -> Address:
    """A page of one of its positions."""
    return lambda at: f"/positions/{at.port(customer, label)}{page}"


def at_rings(customer: str, label: str, page: str = "") -> Address:
    """A page of the ring set of a position."""
    return lambda at: f"/ring-sets/{at.ring_set(customer, label)}{page}"


def at_sheet(kind: str, page: str = "") -> Address:
    """The first sheet of a kind."""
    return lambda at: f"/sheets/{at.sheet(kind)}{page}"


def this(address: str) -> Address:
    """An address that is the same in every shop."""
    return lambda _at: address


# By person, so that each has one tablet for all of them.
STATES: dict[str, State] = {
    "counter": State("Wilma", this("/counter")),
    "counter, searched": State("Wilma", this("/counter?q=nobody")),
    "new job": State("Wilma", this("/jobs/new")),
    "comeback": State("Wilma", at_job("Fern", "/comeback")),
    "job just taken in": State("Wilma", at_job("Marrow")),
    "job waiting": State("Wilma", at_job("Pebble")),
    "job of two heads": State("Wilma", at_job("Cinder")),
    "job over": State("Wilma", at_job("Brook")),
    "head described": State("Wilma", at_head("Juniper", "/edit")),
    "work of each position": State("Wilma", at_head("Fern", "/positions")),
    "consent": State("Wilma", at_job("Pebble", "/consent")),
    "parts counted": State("Wilma", at_job("Sorrel", "/received")),
    "hand-over": State("Wilma", at_job("Sorrel", "/hand-over")),
    "today": State("Wilma", this("/today")),
    "notices": State("Wilma", at_job("Sorrel", "/notices")),
    "another end": State("Wilma", at_job("Sorrel", "/end")),
    "customer's record": State("Wilma", at_head("Brook", "/customer-record")),
    "job, the customer is asked": State("Wilma", at_job("Wharf")),
    "valves of a job that is over": State("Wilma", at_head("Ash", "/valves")),
    "vacuum test, read only": State("Wilma", at_head("Ash", "/vacuum")),
    "chambers, read only": State("Wilma", at_head("Ash", "/chambers")),
    "find": State("Wilma", this("/find?q=lane&state=open")),
    "find nothing": State("Wilma", this("/find?q=nowhere")),
    "promise": State("Wilma", at_job("Pebble", "/promise")),
    "place": State("Wilma", at_job("Pebble", "/place")),
    "what is wanted": State("Wilma", at_job("Pebble", "/wanted")),
    "history": State("Wilma", at_job("Cinder", "/history")),
    "customer of a job": State("Wilma", at_job("Pebble", "/customer")),
    "customer": State("Wilma", lambda at: f"/customers/{at.job('Pebble').customer_id}/edit"),
    "estimate": State("Wilma", at_job("Pebble", "/estimate")),
    "estimate on paper": State("Wilma", at_job("Pebble", "/estimate/paper")),
    "prices of a job": State("Wilma", at_job("Cinder", "/price-lines")),
    "pictures": State("Wilma", at_job("Sorrel", "/photos")),
    "no pictures": State("Wilma", at_job("Marrow", "/photos")),
    "customers from a list": State("Wilma", this("/lists/customers/import")),
    "notes": State("Wilma", at_job("Harrow", "/notes")),
    "waiting": State("Wilma", at_job("Lantern", "/waiting")),
    "parts out": State("Wilma", at_job("Sorrel", "/received?way=out")),
    "another head": State("Wilma", at_job("Marrow", "/heads")),
    "not done": State("Wilma", at_head("Sorrel", "/not-done")),
    "nothing at this address": State("Wilma", this("/jobs/26-9999"), 404),
    "job handed on": State("Marek", at_job("Harrow")),
    "bench": State("Marek", this("/bench")),
    "inspections": State("Marek", at_head("Juniper", "/inspections")),
    "inspection, point by point": State("Marek", at_head("Gannet", "/inspections")),
    "inspection, the customer is asked": State("Marek", at_head("Wharf", "/inspections")),
    "deck flatness": State("Marek", at_head("Gannet", "/flatness")),
    "stem heights, and below the deck": State("Marek", at_head("Gannet", "/stem-heights")),
    "stem heights": State("Marek", at_head("Tolland", "/stem-heights")),
    "guides": State("Marek", at_head("Juniper", "/guides")),
    "guides, serviced": State("Marek", at_head("Gorse", "/guides?places=both")),
    "new guides": State("Marek", at_head("Gorse", "/new-guides")),
    "old pockets": State("Marek", at_head("Lantern", "/pockets")),
    "seats finished": State("Marek", at_head("Harrow", "/finish")),
    "seats below the deck": State("Marek", at_head("Sorrel", "/finish?of=deck")),
    "valves below the deck": State("Marek", at_head("Juniper", "/stem-heights?below=deck")),
    "valves and springs": State("Marek", at_head("Sorrel", "/valves")),
    "contact": State("Marek", at_head("Sorrel", "/valves?of=contact")),
    "vacuum test": State("Marek", at_head("Sorrel", "/vacuum")),
    "vacuum test, nothing said yet": State("Marek", at_head("Tolland", "/vacuum")),
    "a chamber out": State("Marek", at_head("Sorrel", "/chambers")),
    "seats wanted": State("Marek", at_head("Harrow", "/seats")),
    "seat, worked out": State("Marek", at_port("Harrow", "3E", f"/seat?{SEAT}")),
    "seat, not to be": State("Marek", at_port("Harrow", "3E", f"/seat?{SEAT}&inner=1.4")),
    "new ring set": State("Marek", at_job("Pebble", "/ring-sets/new")),
    "rings read": State("Marek", at_rings("Cinder", "1E")),
    "a ring in doubt": State("Marek", at_rings("Thistle", "4E")),
    "setting plan": State("Marek", at_job("Cinder", "/plan")),
    "setting": State("Marek", lambda at: f"/settings/{at.setting('Tolland')}"),
    "clamp-up": State("Marek", at_head("Tolland", "/clamp-ups/new")),
    "to be cut": State("Marek", at_port("Tolland", "3E2", "/cut")),
    "bored": State("Marek", at_port("Tolland", "1E1", "/cut")),
    "on hold": State("Marek", at_port("Juniper", "3E", "/hold")),
    "rings in": State("Marek", at_head("Tolland", "/rings-in")),
    "rings to heat for": State("Marek", at_head("Tolland", "/heat")),
    "head cooling": State("Marek", at_head("Quay", "/heat")),
    "deck": State("Marek", at_head("Quay", "/deck")),
    "signing": State("Marek", at_job("Harrow", "/sign")),
    "shelf": State("Marek", this("/shelf")),
    "crib": State("Marek", this("/crib")),
    "cutter": State("Marek", this("/crib/cutters/1")),
    "papers": State("Marek", at_job("Fern", "/sheets")),
    "tag": State("Marek", at_job("Juniper", "/tag")),
    "issued sheet": State("Marek", at_sheet("tag")),
    "rings out": State("Marek", at_head("Fern", "/rings-out")),
    "cut open": State("Marek", at_port("Tolland", "4E1", "/cut")),
    "cut and gauged": State("Marek", at_port("Tolland", "3E1", "/cut")),
    "of no setting": State("Marek", at_port("Thistle", "1E", "/cut")),
    "gets no ring": State("Marek", at_port("Tolland", "1I1", "/cut")),
    "which ring would save it": State("Marek", at_port("Juniper", "3E", "/rescue")),
    "one ring in": State("Marek", at_port("Harrow", "2E", "/ring-in")),
    "ring set edited": State("Marek", at_rings("Cinder", "1E", "/edit")),
    "rings as measured": State("Marek", at_rings("Cinder", "1E", "/as-measured")),
    "a reading struck": State(
        "Marek", lambda at: f"/readings/{at.reading('Thistle', '4E')}/strike"
    ),
    "set-up sheet": State("Marek", at_job("Cinder", "/set-up")),
    "head record, not issued": State("Marek", at_head("Harrow", "/record")),
    "blank card": State("Marek", at_head("Fern", "/card")),
    "about a sheet": State("Marek", at_sheet("record", "/about")),
    "superseded sheet": State("Marek", at_sheet("set_up")),
    "issued head record": State("Marek", at_sheet("record")),
    "rings wanted": State("Marek", this("/shelf?wanted=yes")),
    "order slip": State("Marek", this("/order-slip")),
    "a ring wanted": State("Marek", at_port("Juniper", "2E", "/wanted-rings/new")),
    "ring on its way": State("Marek", lambda at: f"/wanted-rings/{at.wanted_ring()}"),
    "new box": State("Marek", this("/shelf/new")),
    "box": State("Marek", this("/shelf/1")),
    "rings put back": State("Marek", lambda at: f"/shelf/{at.ring_set('Cinder', '1E')}/put-back"),
    "sizes": State("Marek", this("/shelf/sizes")),
    "a size": State("Marek", this("/shelf/sizes/1")),
    "sizes in a series": State("Marek", this("/shelf/sizes/series")),
    "sizes from a file": State("Marek", this("/shelf/sizes/import")),
    "machine": State("Marek", this("/crib/machines/1")),
    "new cutter": State("Marek", this("/crib/cutters/new")),
    "new machine": State("Marek", this("/crib/machines/new")),
    "pilot": State("Marek", this("/crib/pilots/1")),
    "fixture": State("Marek", this("/crib/fixtures/1")),
    "instrument": State("Marek", this("/crib/instruments/1")),
    "repeatability": State("Marek", this("/crib/instruments/1/repeatability")),
    "tool out of use": State("Marek", this("/crib/pilots/1/retire")),
    "an overcut left out": State("Marek", this("/crib/cutters/1/overcut/1/leave-out")),
    "cutters from a list": State("Marek", this("/lists/cutters/import")),
    "rings from a list": State("Marek", this("/lists/rings/import")),
    "own PIN": State("Marek", this("/my-pin")),
    "sources": State("Marek", this("/sources")),
    "trace": State("Odile", this("/trace?of=cutter&which=1")),
    "office": State("Odile", this("/office")),
    "figures": State("Odile", this("/figures")),
    "a figure, month by month": State("Odile", this("/figures/first-time")),
    "a figure, window by window": State("Odile", this("/figures/interference")),
    "a figure, drawn": State("Odile", this("/figures/labels")),
    "shop rules": State("Odile", this("/shop-rules")),
    "one rule": State("Odile", this("/shop-rules/least_cut")),
    "heat cases": State("Odile", this("/shop-rules/heat-cases")),
    "materials": State("Odile", this("/materials")),
    "one material": State("Odile", this("/materials/own-2")),
    "new material": State("Odile", this("/materials/new?of=head")),
    "one heat case": State("Odile", this("/shop-rules/heat-cases/aluminium/E/hard")),
    "people": State("Odile", this("/people")),
    "a customer's name taken out": State(
        "Odile", lambda at: f"/customers/{at.job('Fern').customer_id}/empty"
    ),
    "price list": State("Odile", this("/price-list")),
    "one price": State("Odile", this("/price-list/p1")),
    "new window": State("Odile", this("/interference-rules/new")),
    "new heat case": State("Odile", this("/shop-rules/heat-cases/new")),
    "backups": State("Odile", this("/backups")),
    "out and in": State("Odile", this("/out-and-in")),
    "keys of programs": State("Odile", this("/api-keys")),
    "one of the people": State("Odile", this("/people/2/edit")),
    "not for this sign-in": State("Marek", this("/people"), 403),
    "choose who you are": State(NOBODY, this("/sign-in")),
    "PIN": State(NOBODY, this("/sign-in/1")),
    "wrong PIN": State(NOBODY, this("/sign-in/1"), 422, {"pin": "9"}),
    "sign-in that ended": State(NOBODY, this("/jobs/new"), 401, {"wanted": "two valves"}),
    "signed in to send it": State(
        NOBODY,
        this("/sign-in-again"),
        200,
        {
            "person": "3",
            "pin": PINS["Wilma"],
            KEPT_FOR: "/jobs/new",
            f"{KEPT}0.wanted": "two",
        },
    ),
    "new job, sent back": State("Wilma", this("/jobs/new"), 422, {"wanted": ""}),
}
