"""The shop rules of papers, notices and signing in."""

from __future__ import annotations

from app.calc.sources import Mark
from app.workflow.shop_rule import Definition, RuleGroup, RuleKind, rule

_HERE = RuleGroup.PAPERS

PAPER_RULES: tuple[Definition, ...] = (
    rule(
        "sign_in_idle_hours",
        _HERE,
        "12",
        "A sign-in ends unused after",
        "signing in; never while a head is clamped up",
        kind=RuleKind.NUMBER,
        unit="hours",
        least="1",
        most="168",
        is_whole=True,
    ),
    rule(
        "sign_in_days",
        _HERE,
        "7",
        "A sign-in ends after",
        "signing in; never while a head is clamped up",
        kind=RuleKind.NUMBER,
        unit="days",
        least="1",
        most="90",
        is_whole=True,
    ),
    rule(
        "estimate_words",
        _HERE,
        "What is found once the head is apart can change the work and the total; you are asked "
        "before it goes past what you agreed to.",
        "Words under an estimate",
        "the printed estimate and final list; empty prints none",
        kind=RuleKind.TEXT,
        longest=2000,
    ),
    rule(
        "warranty_text",
        _HERE,
        "",
        "Warranty terms",
        "head record, customer's record and hand-over; empty prints none",
        kind=RuleKind.TEXT,
        longest=2000,
    ),
    rule(
        "care_text",
        _HERE,
        "Clean the deck and the bolt holes before the head goes on. Tighten in the order and to "
        "the figures that the engine's maker gives, and again where the maker asks for it. Fill "
        "with the coolant the maker names and let the air out of the system. After the first warm "
        "run look for leaks, let it cool, and check coolant, oil and valve clearances.",
        "What to look after when the head goes on",
        "customer's record; empty prints none",
        kind=RuleKind.TEXT,
        longest=2000,
    ),
    rule(
        "notice_days",
        _HERE,
        "30",
        "Days that a notice to collect gives before a head is called abandoned",
        "notices and other ends; check local law, which decides",
        kind=RuleKind.NUMBER,
        unit="days",
        least="1",
        most="730",
        is_whole=True,
        source="check local law: places differ in days, form and what may be sold",
        mark=Mark.FROM_MEMORY,
    ),
    rule(
        "notice_words",
        _HERE,
        "What is not collected after this notice may be disposed of or sold as local law allows.",
        "Words of a last notice",
        "read to the customer or written to them; empty shows none",
        kind=RuleKind.TEXT,
        longest=2000,
        source="check local law for what such a notice has to say",
        mark=Mark.FROM_MEMORY,
    ),
)
