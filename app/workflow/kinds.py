"""Kinds of records: readings, results, instruments, sheets; the vocabulary of what is stored."""

from __future__ import annotations

from enum import StrEnum
from typing import Self


class Said(StrEnum):
    """A stored word with the words that a screen says for it."""

    screen: str

    def __new__(cls, word: str, screen: str = "") -> Self:
        member = str.__new__(cls, word)
        member._value_ = word
        member.screen = screen or word.replace("_", " ")
        return member


class Unit(Said):
    """What a plain number means."""

    INCH = "in", "inch"
    MM = "mm"


class CustomerKind(Said):
    """Whom a job is for."""

    NAMED = "named", "customer"
    SHOP_STOCK = "shop_stock", "shop stock"
    UNKNOWN = "unknown", "left, owner not known"


class ConsentHow(Said):
    """How consent was given."""

    IN_PERSON = "in_person", "in person"
    SIGNED = "signed", "signed on paper"
    PHONE = "phone", "by phone"
    MESSAGE = "message", "by message"
    STANDING = "standing", "standing authority"


class CutterKind(Said):
    """A cutter that is set, or one ground to a size."""

    ADJUSTABLE = "adjustable"
    FIXED = "fixed", "fixed size"


class Quantity(Said):
    """What a reading is a reading of."""

    RING_OD = "ring_od", "outside diameter"
    RING_HEIGHT = "ring_height", "height"
    RING_ID = "ring_id", "inside diameter"
    STEM_HEIGHT = "stem_height", "stem height"
    GUIDE_BORE = "guide_bore", "guide bore"
    GUIDE_ROCKING = "guide_rocking", "guide, by rocking the valve"
    GUIDE_LENGTH = "guide_length", "guide length that the pilot fills"
    OVERHANG = "overhang", "guide's end to the cut"
    OLD_BORE = "old_bore", "old bore"
    OLD_RUN_OUT = "old_run_out", "old bore run-out"
    OLD_DEPTH = "old_depth", "old floor depth"
    SEAT_OUTSIDE = "seat_outside", "old seat's outside"
    VALVE_HEAD = "valve_head", "valve head"
    CENTRE_DISTANCE = "centre_distance", "centre distance to the next position"
    WALL = "wall", "wall to the water jacket"
    BORE = "bore", "bore"
    DEPTH = "depth", "depth"
    OD_CHECK = "od_check", "outside diameter before pressing"
    DOWN_HEIGHT = "down_height", "height after pressing"
    SEAT_WIDTH = "seat_width", "seat width"
    RUN_OUT = "run_out", "run-out"
    STEM_AFTER = "stem_after", "stem height after"
    PILOT_GUIDE_END = "pilot_guide_end", "pilot, guide end"
    PILOT_SHANK = "pilot_shank", "pilot, shank at the tool"
    FIXTURE = "fixture", "setting fixture"
    TOUCH_OFF = "touch_off", "touch-off"
    STEM = "stem", "valve stem"
    RECESSION = "recession", "valve below the deck"
    FLATNESS = "flatness", "deck flatness"
    NEW_GUIDE = "new_guide", "new guide's outside"
    GUIDE_HOUSING = "guide_housing", "bore for the new guide"
    VALVE_MARGIN = "valve_margin", "valve margin"
    CONTACT_WIDTH = "contact_width", "contact width"
    CONTACT_FROM_EDGE = "contact_from_edge", "contact, from the valve's edge"
    FACE_RUN_OUT = "face_run_out", "valve face run-out"
    TIP_GROUND = "tip_ground", "ground off the tip"
    SPRING_HEIGHT = "spring_height", "spring height as installed"
    SPRING_SHIM = "spring_shim", "spring shim"
    VALVE_LENGTH = "valve_length", "valve length"


class ResultKind(Said):
    """What an accepted result says."""

    RING_SET = "ring_set", "ring set"
    TARGET = "target", "counterbore to cut"
    DEPTH_STOP = "depth_stop", "depth stop"
    CLEAN_UP = "clean_up", "clean-up of the old bore"
    WALL_WEB = "wall_web", "wall and web"
    PILOT_FIT = "pilot_fit", "pilot fit"
    PLAN = "plan", "setting plan"
    SETTING = "setting", "size to set"
    VERIFICATION = "verification", "bore proved"
    RING_IN = "ring_in", "ring in"
    FINISH = "finish", "seat finished"
    OVERCUT = "overcut", "overcut"
    GUIDE_GRIP = "guide_grip", "grip of the new guide"


class HoldReason(Said):
    """Why a position stopped."""

    LOOSE = "loose", "too loose"
    TIGHT = "tight", "too tight"
    NOT_PROVED = "not_proved", "not proved inside by the decision rule"
    SHALLOW = "shallow", "too shallow"
    DEEP = "deep", "too deep"
    OUT_OF_ROUND = "out_of_round", "out of round"
    TAPER = "taper", "tapered"
    CHANGED = "changed", "figures changed"
    STOPPED = "stopped", "stopped by hand"


class NoteKind(Said):
    """A note, or a call in or out."""

    NOTE = "note"
    CALL_IN = "call_in", "they called"
    CALL_OUT = "call_out", "we called"
    HAND_ON = "hand_on", "handed on to a colleague"


class NoticeOf(Said):
    """What a notice to a customer says."""

    READY = "ready", "it is ready to be collected"
    REMINDER = "reminder", "reminder to collect it"
    LAST = "last", "last notice before it is disposed of"


class NoticeHow(Said):
    """How a notice was given."""

    PHONE = "phone", "by phone"
    MESSAGE = "message", "by message"
    LETTER = "letter", "by letter"
    REGISTERED = "registered", "by registered letter"
    IN_PERSON = "in_person", "in person"


class RingOwner(Said):
    """Whose rings these are."""

    SHOP = "shop", "ours"
    CUSTOMER = "customer", "the customer's"


class InstrumentKind(Said):
    """What an instrument reads."""

    OD = "od", "outside micrometer"
    BORE = "bore", "bore gauge"
    DEPTH = "depth", "depth gauge"
    GUIDE = "guide", "guide bore gauge"
    HEIGHT = "height", "height gauge"
    RUN_OUT = "run_out", "run-out gauge"
    OTHER = "other"


class MaterialOf(Said):
    """What a material is used for."""

    HEAD = "head", "heads"
    RING = "ring", "seat rings"


class RingOutWay(Said):
    """How an old seat ring came out."""

    THINNED = "thinned", "cut thin until it let go"
    BEAD = "bead", "weld bead, shrunk"
    SPLIT = "split", "split"
    PULLED = "pulled", "pulled"
    FELL_OUT = "fell_out", "it was loose"
    OTHER = "other", "another way"


class OldFloor(Said):
    """What became of the old floor when the ring came out."""

    UNTOUCHED = "untouched", "floor untouched"
    TOUCHED = "touched", "floor cut into"
    NOT_SEEN = "not_seen", "floor not seen"


class DeckOrder(Said):
    """When a deck was cut, as far as the seats go."""

    BEFORE = "before", "before the seats"
    AFTER = "after", "after the seats"


class ValveState(Said):
    """What becomes of a valve."""

    KEPT = "kept", "kept"
    REFACED = "refaced", "refaced"
    NEW = "new", "new valve"
    MISSING = "missing", "missing"


class VacuumUnit(Said):
    """What a vacuum gauge reads in."""

    INHG = "inHg", "inHg"
    KPA = "kPa", "kPa"


class PhotoOf(Said):
    """At which step a picture was taken."""

    INTAKE = "intake", "as it came in"
    INSPECTION = "inspection", "inspection"
    HOLD = "hold", "hold"
    WORK = "work", "work"
    HAND_OVER = "hand_over", "hand-over"


class PricedBy(Said):
    """What a price is for each of."""

    JOB = "job", "each job"
    HEAD = "head", "each head"
    POSITION = "position", "each position"
    PIECE = "piece", "each piece"


class ReadingKind(Said):
    """Which page's readings a set holds; the newest set of a kind counts."""

    RING = "ring", "seat ring"
    STEM_HEIGHTS = "stem_heights", "stem heights"
    GUIDES = "guides", "guides"
    POCKETS = "pockets", "pockets"
    BORE = "bore", "counterbore"
    RING_DOWN = "ring_down", "seat ring down"
    FINISH = "finish", "seat finish"
    NEW_GUIDES = "new_guides", "new guides"
    VALVES = "valves", "valves and springs"
    FLATNESS = "flatness", "deck flatness"


class SettingState(Said):
    """Where a setting stands."""

    READY = "ready", "worked out, not set"
    LIVE = "live", "set"
    LAPSED = "lapsed", "to be read again"
    ENDED = "ended", "over"


class PassOutcome(Said):
    """How a pass at a bore ended."""

    SIGNED = "signed", "signed"
    NEXT_PASS = "next_pass", "another pass followed"
    GIVEN_UP = "given_up", "given up"
    PLAN_CHANGED = "plan_changed", "worked out again before cutting"


class Verdict(Said):
    """What the readings say of a bore and its ring."""

    INSIDE = "inside", "inside the window"
    DOUBTFUL = "doubtful", "inside, but near an edge"
    LOOSE = "loose", "too loose"
    TIGHT = "tight", "too tight"


class PressWay(Said):
    """How a ring went in."""

    PRESS = "press", "pressed"
    CHILLED = "chilled", "ring chilled"
    HEATED = "heated", "head heated"
    BOTH = "both", "head heated, ring chilled"

    @property
    def heats(self) -> bool:
        """The head is hot for it."""
        return self in (PressWay.HEATED, PressWay.BOTH)

    @property
    def chills(self) -> bool:
        """The ring is cold for it."""
        return self in (PressWay.CHILLED, PressWay.BOTH)


# What a feeler found under a ring; all but the first say why, behind a colon.
NOT_ENTERING, ENTERS, NO_REACH = "does not enter", "enters", "could not reach"
FEELS = (NOT_ENTERING, ENTERS, NO_REACH)


class SheetKind(Said):
    """What a sheet is."""

    TAG = "tag", "tag"
    SET_UP = "set_up", "set-up sheet"
    RECORD = "record", "head record"
    CUSTOMER = "customer", "customer's record"


class SignedWhat(Said):
    """What a signature is for."""

    POSITIONS = "positions", "positions finished"
    HAND_OVER = "hand_over", "handed over"
