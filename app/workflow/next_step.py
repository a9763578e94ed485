"""Whose turn a job is: the one obvious next step, and where it is taken."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from app.workflow.facts import HeadFacts, JobFacts
from app.workflow.gates import open_points
from app.workflow.kinds import Said
from app.workflow.requirements import Gate, told_together
from app.workflow.stages import order_at_bench, stages_of
from app.workflow.words import InspectionWay, Page, Waiting, Work, money, sentence


class Turn(Said):
    """Who takes the next step."""

    COUNTER = "counter", "the counter's turn"
    BENCH = "bench", "the bench's turn"


COUNTER_PAGES = frozenset(
    {
        Page.INTAKE,
        Page.LAYOUT,
        Page.POSITIONS,
        Page.CONSENT,
        Page.RECEIVED,
        Page.PARTS_OUT,
        Page.HAND_OVER,
        Page.WAITING,
        Page.END,
    }
)


@dataclass(frozen=True, slots=True)
class NextStep:
    """What comes next, on which page; `head` counts the job's heads from 0."""

    screen: str
    page: Page
    head: int | None = None
    label: str | None = None

    @property
    def turn(self) -> Turn:
        """Who takes it."""
        return Turn.COUNTER if self.page in COUNTER_PAGES else Turn.BENCH


def next_step(job: JobFacts) -> NextStep | None:
    """The first of the steps that are open; nothing once the job is over."""
    if job.voided or job.ended is not None:
        return None
    return next(_steps(job), NextStep("Hand over", Page.HAND_OVER))


def _steps(job: JobFacts) -> Iterator[NextStep]:
    if job.heads and all(head.is_scrap for head in job.heads):
        yield NextStep("Tell the customer and end the job", Page.END)
    # A head that is not to be worked on asks for nothing more.
    heads = tuple((nth, head) for nth, head in enumerate(job.heads) if not head.is_scrap)
    for nth, head in heads:
        if head.way is InspectionWay.ASK_CUSTOMER:
            if job.waiting is Waiting.CUSTOMER:
                yield NextStep("Ask the customer, write down the answer", Page.WAITING, nth)
            else:
                yield NextStep("Say how the head goes on", Page.INSPECTIONS, nth)
    for nth, head in heads:
        if not head.ports:
            yield NextStep("Describe the head", Page.LAYOUT, nth)
    for nth, head in heads:
        if any(port.work is Work.UNDECIDED for port in head.ports):
            yield NextStep("Decide the work of each position", Page.POSITIONS, nth)
    for nth, head in heads:
        if any(each.key == "consent" for each in open_points(Gate.METAL_OFF, head)):
            yield NextStep(_asked(head), Page.CONSENT, nth)
    for nth, head in heads:
        for port in head.ports:
            if port.hold is not None:
                yield NextStep(f"{port.label}: choose a way out", Page.HOLD, nth, port.label)
    for nth, head in heads:
        yield from _at_positions(nth, head)
    for nth, head in heads:
        for each in open_points(Gate.HAND_OVER, head)[:1]:
            told = f"{told_together([each])[0]} is still open"
            if each.key == "parts_counted":
                yield NextStep("Count the parts out", each.page, nth)
                continue
            if each.key == "consent":
                yield NextStep(_asked(head), each.page, nth)
                continue
            yield NextStep(sentence(told).removesuffix("."), each.page, nth, each.label)


def _asked(head: HeadFacts) -> str:
    """A consent that is there and too small is asked for more, not recorded once again."""
    more = head.consent.more
    return f"Ask for {money(more)} more" if more else "Record the customer's consent"


def _at_positions(nth: int, head: HeadFacts) -> Iterator[NextStep]:
    """What comes first at the bench, told for all that wait for the same."""
    at = stages_of(head)
    steps = [(port, step) for port in head.ports if (step := at[port.label].next) is not None]
    steps.sort(key=lambda each: order_at_bench(at[each[0].label].stage, each[1].page))
    for port, step in steps[:1]:
        alike = sum(at[other.label].next == step for other in head.ports)
        is_of_head = step.page in (Page.INTAKE, Page.LAYOUT, Page.INSPECTIONS, Page.CONSENT)
        told = step.screen if is_of_head else f"{port.label}: {step.screen}"
        if alike > 1 and not is_of_head:
            told += f" (and {alike - 1} more)"
        page = Page.RINGS_IN if step.page is Page.RING_IN and alike > 1 else step.page
        yield NextStep(told[0].upper() + told[1:], page, nth, port.label)
