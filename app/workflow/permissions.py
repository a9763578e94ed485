"""Who may do what: one table of verbs and the roles that may."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from app.workflow.kinds import Said
from app.workflow.words import Role, listed


class Verb(Said):
    """Everything that changes a record, and reading as one verb; the words finish "may …"."""

    READ = "read", "read every page"
    CHANGE_OWN_PIN = "change_own_pin", "change their own PIN"

    # Counter
    TAKE_IN = "take_in", "take in jobs and heads"
    EDIT_CUSTOMER = "edit_customer", "edit customers"
    DECIDE_WORK = "decide_work", "say what each position gets"
    RECORD_CONSENT = "record_consent", "record consent"
    EDIT_PRICES = "edit_prices", "edit price lines"
    RECORD_RECEIVED = "record_received", "count parts in and out"
    WRITE_NOTE = "write_note", "write notes and calls"
    TAKE_PICTURE = "take_picture", "take pictures and take them off"
    SET_WAITING = "set_waiting", "say what a job waits for"
    WANT_RING = "want_ring", "want and receive seat rings"
    END_JOB = "end_job", "end a job without the work"
    HAND_OVER = "hand_over", "hand over"
    PRINT_SHEET = "print_sheet", "print tags, cards and issued sheets"

    # Bench
    INSPECT = "inspect", "record inspections"
    RECORD_READING = "record_reading", "record readings"
    STRIKE_READING = "strike_reading", "strike readings"
    KEEP_READING = "keep_reading", "keep a doubtful reading"
    CHOOSE_RING = "choose_ring", "choose rings and their rule"
    MAKE_SETTING = "make_setting", "make and check settings"
    CLAMP_UP = "clamp_up", "clamp up a head"
    CUT = "cut", "cut and gauge"
    PLACE_HOLD = "place_hold", "put a position on hold"
    RELEASE_HOLD = "release_hold", "take a way out of a hold"
    SIGN_DEVIATION = "sign_deviation", "sign a deviation within the shop's limit"
    PRESS_RING = "press_ring", "record a ring in"
    FINISH_SEAT = "finish_seat", "record seat finish"
    PLAN_SEAT = "plan_seat", "say what the seats are to be"
    SIGN = "sign", "sign finished positions"
    ISSUE_SHEET = "issue_sheet", "issue set-up sheets and head records"
    EDIT_SHELF = "edit_shelf", "edit the shelf"
    EDIT_CRIB = "edit_crib", "edit the crib"

    # Office
    EDIT_RULES = "edit_rules", "change shop rules"
    EDIT_PEOPLE = "edit_people", "add people, change roles and reset PINs"
    DEVIATE_PAST_LIMIT = "deviate_past_limit", "sign a deviation past a limit"
    EMPTY_CUSTOMER = "empty_customer", "empty a customer's name and numbers"
    VOID_JOB = "void_job", "void a job"
    SEE_FIGURES = "see_figures", "see the office's figures"
    EXPORT = "export", "export and back up the records"
    ISSUE_KEY = "issue_key", "issue and revoke keys of programs"


_EVERYONE = frozenset(Role)
_BENCH = frozenset({Role.MACHINIST, Role.OWNER})
_OWNER = frozenset({Role.OWNER})

PERMISSIONS: Mapping[Verb, frozenset[Role]] = MappingProxyType(
    {
        Verb.READ: _EVERYONE,
        Verb.CHANGE_OWN_PIN: _EVERYONE,
        Verb.TAKE_IN: _EVERYONE,
        Verb.EDIT_CUSTOMER: _EVERYONE,
        Verb.DECIDE_WORK: _EVERYONE,
        Verb.RECORD_CONSENT: _EVERYONE,
        Verb.EDIT_PRICES: _EVERYONE,
        Verb.RECORD_RECEIVED: _EVERYONE,
        Verb.WRITE_NOTE: _EVERYONE,
        Verb.TAKE_PICTURE: _EVERYONE,
        Verb.SET_WAITING: _EVERYONE,
        Verb.WANT_RING: _EVERYONE,
        Verb.END_JOB: _EVERYONE,
        Verb.HAND_OVER: _EVERYONE,
        Verb.PRINT_SHEET: _EVERYONE,
        Verb.INSPECT: _BENCH,
        Verb.RECORD_READING: _BENCH,
        Verb.STRIKE_READING: _BENCH,
        Verb.KEEP_READING: _BENCH,
        Verb.CHOOSE_RING: _BENCH,
        Verb.MAKE_SETTING: _BENCH,
        Verb.CLAMP_UP: _BENCH,
        Verb.CUT: _BENCH,
        Verb.PLACE_HOLD: _BENCH,
        Verb.RELEASE_HOLD: _BENCH,
        Verb.SIGN_DEVIATION: _BENCH,
        Verb.PRESS_RING: _BENCH,
        Verb.FINISH_SEAT: _BENCH,
        Verb.PLAN_SEAT: _BENCH,
        Verb.SIGN: _BENCH,
        Verb.ISSUE_SHEET: _BENCH,
        Verb.EDIT_SHELF: _BENCH,
        Verb.EDIT_CRIB: _BENCH,
        Verb.EDIT_RULES: _OWNER,
        Verb.EDIT_PEOPLE: _OWNER,
        Verb.DEVIATE_PAST_LIMIT: _OWNER,
        Verb.EMPTY_CUSTOMER: _OWNER,
        Verb.VOID_JOB: _OWNER,
        Verb.SEE_FIGURES: _OWNER,
        Verb.EXPORT: _OWNER,
        Verb.ISSUE_KEY: _OWNER,
    }
)


def may(role: Role | None, verb: Verb) -> bool:
    """Whether a person of this role may; nobody signed in, and nobody retired, may anything."""
    return role is not None and role in PERMISSIONS[verb]


def refusal(verb: Verb) -> str:
    """Why not, in words: ``Only a machinist or an owner may strike readings.``"""
    roles = [role for role in Role if role in PERMISSIONS[verb]]
    names = [f"{'an' if role is Role.OWNER else 'a'} {role.screen}" for role in roles]
    return f"Only {listed(names, 'or')} may {verb.screen}."
