"""Kinds of records: readings, results, instruments, sheets; the vocabulary of what is stored."""

from __future__ import annotations

from app.workflow.words import Word


class NoteKind(Word):
    """A note, or a call in or out."""

    NOTE = "note"
    CALL_IN = "call_in", "they called"
    CALL_OUT = "call_out", "we called"


class RingOwner(Word):
    """Whose rings these are."""

    SHOP = "shop", "ours"
    CUSTOMER = "customer", "the customer's"


class InstrumentKind(Word):
    """What an instrument reads."""

    OD = "od", "outside micrometer"
    BORE = "bore", "bore gauge"
    DEPTH = "depth", "depth gauge"
    GUIDE = "guide", "guide bore gauge"
    HEIGHT = "height", "height gauge"
    RUN_OUT = "run_out", "run-out gauge"
    OTHER = "other"


class ReadingKind(Word):
    """Which page's readings a set holds; the newest set of a kind counts."""

    RING = "ring", "seat ring"
    STEM_HEIGHTS = "stem_heights", "stem heights"
    GUIDES = "guides", "guides"
    POCKETS = "pockets", "pockets"
    BORE = "bore", "counterbore"
    RING_DOWN = "ring_down", "seat ring down"
    FINISH = "finish", "seat finish"


class SettingState(Word):
    """Where a setting stands."""

    READY = "ready", "worked out, not set"
    LIVE = "live", "set"
    LAPSED = "lapsed", "to be read again"
    ENDED = "ended", "over"


class PassOutcome(Word):
    """How a pass at a bore ended."""

    SIGNED = "signed", "signed"
    NEXT_PASS = "next_pass", "another pass followed"
    GIVEN_UP = "given_up", "given up"
    PLAN_CHANGED = "plan_changed", "worked out again before cutting"


class Verdict(Word):
    """What the readings say of a bore and its ring."""

    INSIDE = "inside", "inside the window"
    DOUBTFUL = "doubtful", "inside, but near an edge"
    LOOSE = "loose", "too loose"
    TIGHT = "tight", "too tight"


class PressWay(Word):
    """How a ring went in."""

    PRESS = "press", "pressed"
    CHILLED = "chilled", "ring chilled"
    HEATED = "heated", "head heated"
    BOTH = "both", "head heated, ring chilled"


class SheetKind(Word):
    """What a sheet is."""

    TAG = "tag", "tag"
    SET_UP = "set_up", "set-up sheet"
    RECORD = "record", "head record"


class SignedWhat(Word):
    """What a signature is for."""

    POSITIONS = "positions", "positions finished"
    HAND_OVER = "hand_over", "handed over"
