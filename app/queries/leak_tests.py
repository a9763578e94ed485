"""Vacuum tests of a head as they were said: what the page's fields start from."""

from __future__ import annotations

from app.forms.leak_tests import LeakTested
from app.queries.figured_inspections import Figured
from app.workflow.words import Outcome
from app.worksheets.leak_tests import SEEN, WITHIN


def as_said(test: Figured) -> LeakTested:
    """A kept test as its page would send it again; its own outcome only where figures do not."""
    row = test.row
    if row.outcome is Outcome.NOT_DONE:
        return LeakTested(row.outcome, {}, row.because, row.id)
    if not test.figures:
        return LeakTested(row.outcome, {}, row.found, row.id)
    words, _, note = row.found.partition(SEEN)
    is_theirs = words.endswith(WITHIN) == (row.outcome is Outcome.OK)
    return LeakTested(None if is_theirs else row.outcome, test.typed, note, row.id)
