"""How flat a deck is: gaps at their places, and the engine maker's limits for this head."""

from __future__ import annotations

from app.forms.flatness import FlatnessForm, MakersLimits
from app.models.base import Row
from app.models.head import Head
from app.services.owned import open_head
from app.services.readings import ReadWith, record_readings
from app.services.write import Refused, Write, use_case


@use_case
def record_flatness(tx: Write, head_id: int, form: FlatnessForm, seen: str = "") -> Row:
    """Keep the gaps and the maker's limits; `seen` is the version of the limits on the page."""
    job, head = open_head(tx, head_id)
    if form.limits != limits_of(head):
        if seen and seen != limits_seen(head):
            raise Refused(
                "The maker's limits of this head were changed after this page was opened. Nothing "
                "of this page was stored yet: look at both, and send it again if yours are to "
                "count.",
                "limit_whole",
            )
        said = form.limits
        head.flat_whole, head.flat_part, head.flat_part_over = said.whole, said.part, said.part_over
        head.flat_source = said.source or None
        tx.session.add(head)
        tx.log(
            "said how flat the deck is to be",
            head,
            job=job,
            head=head,
            flat_whole=said.whole.nm if said.whole else None,
            flat_part=said.part.nm if said.part else None,
            flat_part_over=said.part_over.nm if said.part_over else None,
        )
    return record_readings(tx, head, form.entries, ReadWith(earlier=form.earlier))


def limits_of(head: Head) -> MakersLimits:
    """The maker's limits as they stand."""
    return MakersLimits(
        head.flat_whole, head.flat_part, head.flat_part_over, head.flat_source or ""
    )


def limits_seen(head: Head) -> str:
    """What a page carries to say which limits it showed."""
    held = (head.flat_whole, head.flat_part, head.flat_part_over)
    return "-".join(str(each.nm) if each is not None else "no" for each in held)
