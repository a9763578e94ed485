"""A job told over the phone: one sentence after another, true as far as the record goes."""

from __future__ import annotations

from dataclasses import dataclass

from app.workflow.facts import HeadFacts, JobFacts
from app.workflow.kinds import CustomerKind
from app.workflow.stages import holds, is_ready, least_stage, progress, told_holds
from app.workflow.words import Stage, Work, counted, day_words, money, place_words, sentence

# How the counter's list begins: late first, then what waits, then what is on hold.
LATE, WAITING, ON_HOLD, READY, UNDER_WAY, ENDED = range(6)


@dataclass(frozen=True, slots=True)
class JobStatus:
    """What the counter says of a job, and where it stands in the list."""

    sentence: str
    stage: Stage
    is_late: bool
    days_late: int
    is_waiting: bool
    on_hold: tuple[str, ...]
    is_ready: bool
    rank: int
    is_scrap: bool = False  # no head of it is to be worked on, and the job is not ended yet
    asks: str = ""  # what the customer is still to say yes to, once the work is decided


def status_of(job: JobFacts) -> JobStatus:
    """The status of a job as of its `today`."""
    over = job.voided or job.ended is not None
    late = 0
    if job.promised_on is not None and not over:
        late = max(0, (job.today - job.promised_on).days)
    on_hold = tuple(
        _named(head, label, len(job.heads)) for head in job.heads for label in holds(head)
    )
    ready = not over and is_ready(job.heads)
    return JobStatus(
        sentence=_told_end(job) if over else _told(job, on_hold, late),
        stage=Stage.DONE if over else least_stage(job.heads),
        is_late=late > 0,
        days_late=late,
        is_waiting=job.waiting is not None and not over,
        on_hold=() if over else on_hold,
        is_ready=ready,
        rank=_rank(job, over, late, on_hold, ready),
        is_scrap=not over and is_all_scrap(job),
        asks="" if over else asks_of(job),
    )


def is_all_scrap(job: JobFacts) -> bool:
    """Every head was inspected and is not to be worked on."""
    return bool(job.heads) and all(head.is_scrap for head in job.heads)


def asks_of(job: JobFacts) -> str:
    """``a yes to 120.00 more``, ``a yes to the work``: what stands between the work and the shop.

    Work that nobody decided yet has nothing to agree to.
    """
    for head in job.heads:
        if head.customer_kind is CustomerKind.SHOP_STOCK or head.is_scrap:
            continue
        if head.consent.more:
            return f"a yes to {money(head.consent.more)} more"
        is_decided = bool(head.ports) and all(
            port.work is not Work.UNDECIDED for port in head.ports
        )
        if is_decided and not head.consent.given:
            return "a yes to the work"
    return ""


def head_name(head: HeadFacts, how_many: int) -> str:
    """``left head``, ``head A``; nothing where a job has one head."""
    if how_many < 2:
        return ""
    if not head.name:
        return "head"
    short = len(head.name) <= 2
    return f"head {head.name}" if short else f"{head.name} head"


def _named(head: HeadFacts, label: str, how_many: int) -> str:
    name = head_name(head, how_many)
    return f"{name} {label}" if name else label


def _rank(job: JobFacts, over: bool, late: int, on_hold: tuple[str, ...], ready: bool) -> int:
    if over:
        return ENDED
    if late:
        return LATE
    if job.waiting is not None or is_all_scrap(job):
        return WAITING
    if on_hold:
        return ON_HOLD
    return READY if ready else UNDER_WAY


def _told_end(job: JobFacts) -> str:
    if job.voided or job.ended is None:
        return "Voided: it was recorded in error."
    day = f" {day_words(job.ended_on, job.today)}" if job.ended_on is not None else ""
    return sentence(f"{job.ended.screen}{day}")


def _told(job: JobFacts, on_hold: tuple[str, ...], late: int) -> str:
    parts = [_told_head(head, len(job.heads)) for head in job.heads] or ["Taken in, no head yet"]
    parts += [told_holds(on_hold), _told_consent(job), _told_waiting(job), _told_place(job, late)]
    return " ".join(sentence(part) for part in parts if part)


def _told_head(head: HeadFacts, how_many: int) -> str:
    name = head_name(head, how_many)
    told = progress(head)
    if head.is_scrap:
        told = f"not to be worked on after inspection: {head.way_because}"
    return f"{name}: {told}" if name else told


def _told_consent(job: JobFacts) -> str:
    """What is to be asked of the customer, and by when, once the prices outgrew the consent."""
    over = [
        head
        for head in job.heads
        if head.consent.more
        and head.customer_kind is not CustomerKind.SHOP_STOCK
        and not head.is_scrap
    ]
    if not over:
        return ""
    until = "hand-over" if all(head.metal_off for head in over) else "metal comes off"
    since = f", since {day_words(job.asked_since, job.today)}" if job.asked_since else ""
    return f"a yes to {money(over[0].consent.more)} more is needed before {until}{since}"


def _told_waiting(job: JobFacts) -> str:
    if job.waiting is None:
        return ""
    told = job.waiting.screen
    if job.waiting_for:
        told += f": {job.waiting_for}"
    if job.waiting_since is not None:
        # A question keeps its mark.
        since = "? Since" if told.endswith("?") else ", since"
        told = f"{told.removesuffix('?')}{since} {day_words(job.waiting_since, job.today)}"
    if job.expected_on is None:
        return told
    verb = "was expected" if job.expected_on < job.today else "expected"
    told += f", {verb} {day_words(job.expected_on, job.today)}"
    if job.promised_on is not None and job.expected_on > job.promised_on >= job.today:
        told += ", after the promised day"
    return told


def _told_place(job: JobFacts, late: int) -> str:
    place = place_words(job.place)
    if job.promised_on is None:
        promise = "no day promised"
    elif late:
        promise = f"promised {day_words(job.promised_on, job.today)}, {counted(late, 'day')} late"
    else:
        promise = f"promised {'for ' if job.promised_on == job.today else ''}" + day_words(
            job.promised_on, job.today
        )
    return f"{place}, {promise}" if place else promise
