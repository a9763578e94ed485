"""Notice given to a customer about heads that stay uncollected."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import ClassVar

from app.forms.base import Form
from app.workflow.kinds import NoticeHow, NoticeOf


class NoticeForm(Form):
    """What was told, how, on which day, and until when it is to be collected."""

    names: ClassVar[dict[str, str]] = {
        "notice_of": "What was told",
        "how": "How",
        "given_on": "On",
        "until": "Collect until",
        "note": "Note",
    }

    notice_of: NoticeOf
    how: NoticeHow
    given_on: date
    until: date | None
    note: str
    today: date

    def __init__(self, raw: Mapping[str, str], *, today: date) -> None:
        super().__init__(raw, today=today)

    def parse(self) -> None:
        self.notice_of = (
            self.choice("notice_of", NoticeOf, required="Choose what was told") or NoticeOf.READY
        )
        self.how = (
            self.choice("how", NoticeHow, required="Choose how it was told") or NoticeHow.PHONE
        )
        self.given_on = self.day("given_on") or self.today
        if self.given_on > self.today:
            self.wrong("given_on", "That day is still to come; write the day it was told")
        self.until = self.day("until")
        if self.until is not None and self.until <= self.given_on:
            self.wrong("until", "That is not after the day it was told")
        is_last = self.notice_of is NoticeOf.LAST and "notice_of" not in self.errors
        if is_last and self.until is None:
            self.wrong("until", "A last notice names the day until which it can be collected")
        self.note = self.text("note", most=400)
