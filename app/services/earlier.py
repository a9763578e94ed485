"""When something was read and by whom: now, or earlier on paper."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from app.forms.earlier import ReadEarlier
from app.models.base import Row
from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.models.port_pass import PortPass
from app.services.owned import zone_of
from app.services.write import Refused, Write


@dataclass(frozen=True, slots=True)
class Taken:
    """The moment of a reading and the person who read it."""

    at: datetime
    by_id: int


def taken(tx: Write, earlier: ReadEarlier | None, about: Row) -> Taken:
    """Now, by the author, unless it was read earlier; `about` is what the page was of.

    Refused in words when that lies in the future, or before the job was taken in.
    """
    if earlier is None:
        return Taken(tx.at, tx.by_id)
    zone = zone_of(tx.session)
    local = datetime.combine(earlier.day, earlier.at, tzinfo=zone)
    at = local.astimezone(UTC)
    if at.astimezone(zone).replace(tzinfo=None) != local.replace(tzinfo=None):
        raise Refused(
            f"There was no {earlier.at:%H:%M} on that day: the clocks went forward over it. "
            "Nothing was stored yet.",
            "earlier_at",
        )
    if at > tx.at:
        raise Refused("That is in the future. Nothing was stored yet.", "earlier_on")
    job = _job_of(tx, about)
    # Minutes are all that is asked, so a reading in the minute of the tag is not before it.
    if job is not None and at < job.taken_in_at.replace(second=0, microsecond=0):
        since = job.taken_in_at.astimezone(zone)
        raise Refused(
            f"{job.number} was taken in on {since:%Y-%m-%d} at {since:%H:%M}: nothing of it was "
            "read before. Nothing was stored yet.",
            "earlier_on",
        )
    if tx.session.get(Person, earlier.by_id) is None:
        raise Refused("There is no such person; choose who read it.", "earlier_by")
    return Taken(at, earlier.by_id)


def _job_of(tx: Write, about: Row) -> Job | None:
    if isinstance(about, PortPass):
        about = tx.session.get_one(Port, about.port_id)
    if isinstance(about, Port):
        about = tx.session.get_one(Head, about.head_id)
    job_id: int | None = getattr(about, "job_id", None)
    return None if job_id is None else tx.session.get(Job, job_id)
