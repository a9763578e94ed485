"""The vocabulary, alike on screen, in code and in the database: a stored value and its words."""

from __future__ import annotations

from datetime import date

from app.workflow.kinds import Said


class Stage(Said):
    """How far a position is; the first reads "taken in", so that it is not the intake valve."""

    INTAKE = "intake", "taken in"
    MEASURE = "measure"
    SET = "set"
    CUT = "cut"
    VERIFY = "verify"
    DONE = "done"


class WorkStage(Said):
    """Bench work whose time is known from the record: what promises are worked from."""

    MEASURE = "measure", "measuring"
    CUT = "cut", "setting and cutting"
    FINISH = "finish", "rings in and seats finished"


class StageState(Said):
    """How one arc of the stage ring is drawn."""

    DONE = "done"
    NOW = "now"
    TO_COME = "to_come", "to come"


class VerifyPart(Said):
    """The three visible parts of verify."""

    BORE_PROVED = "bore_proved", "bore proved"
    RING_IN = "ring_in", "ring in"
    SEAT_FINISHED = "seat_finished", "seat finished"


class Work(Said):
    """What a position gets."""

    RING = "ring", "seat ring"
    SEAT_ONLY = "seat_only", "seat only"
    GUIDE_ONLY = "guide_only", "guide only"
    LEAVE = "leave"
    UNDECIDED = "undecided"


class SeatNow(Said):
    """What sits in the position as it came in."""

    CASTING = "casting", "in the casting"
    RING = "ring", "seat ring"
    OVERSIZE_RING = "oversize_ring", "oversize seat ring"
    MISSING = "missing"
    WELDED = "welded"


class Kind(Said):
    """Which valve a position belongs to."""

    EXHAUST = "E", "exhaust"
    INTAKE = "I", "intake"


class Role(Said):
    """What a person may do is by role."""

    SERVICE_WRITER = "service_writer", "service writer"
    MACHINIST = "machinist"
    OWNER = "owner"


class Material(Said):
    """Head materials with a default rule."""

    GREY_IRON = "grey_iron", "grey iron"
    DUCTILE_IRON = "ductile_iron", "ductile iron"
    ALUMINIUM = "aluminium"


class HeatHistory(Said):
    """What is known of the head having run hot; it decides whether hardness is asked."""

    NONE_KNOWN = "none_known", "no overheating known"
    OVERHEATED = "overheated"
    UNKNOWN = "unknown", "history unknown"


def metal_told(material: Material | None, history: HeatHistory | None) -> str:
    """``aluminium, overheated``: whether it ran hot stands wherever the metal is named.

    An unknown history weighs in aluminium alone, and one that nobody asked about is unknown.
    """
    if material is None:
        return history.screen if history is HeatHistory.OVERHEATED else ""
    if history is HeatHistory.OVERHEATED:
        return f"{material.screen}, {history.screen}"
    if material is Material.ALUMINIUM and history is not HeatHistory.NONE_KNOWN:
        return f"{material.screen}, {HeatHistory.UNKNOWN.screen}"
    return material.screen


class Waiting(Said):
    """What a job waits for outside the shop's own work."""

    PARTS = "parts", "waiting for parts"
    CUSTOMER = "customer", "waiting for the customer"
    WELDER = "welder", "at a welder"


class Ended(Said):
    """How a job came to its end."""

    HANDED_OVER = "handed_over", "handed over"
    RETURNED_UNREPAIRED = "returned_unrepaired", "returned unrepaired"
    SCRAPPED = "scrapped"
    ABANDONED = "abandoned"
    CANCELLED = "cancelled"
    CORE_FOR_STOCK = "core_for_stock", "kept as a core for stock"
    SOLD = "sold", "sold, not collected"


class LabelMeans(Said):
    """What the size on a seat ring's box was found to mean."""

    RING_OD = "ring_od", "the ring's outside"
    COUNTERBORE = "counterbore", "the counterbore; the interference is built in"
    UNRELATED = "unrelated", "neither; a replacement size"
    UNKNOWN = "unknown", "not known"


class FixtureMode(Said):
    """What a setting fixture reads."""

    DIAMETER = "diameter"
    RADIUS = "radius"
    ACROSS_PILOT = "across_pilot", "across the pilot"


class Datum(Said):
    """The surface that depth is measured from; a required choice."""

    DECK = "deck"
    CHAMBER_ROOF = "chamber_roof", "chamber roof beside the seat"
    OLD_LIP = "old_lip", "old lip"
    OLD_FLOOR = "old_floor", "old floor"


class GuideDecision(Said):
    """What was decided about a guide before any seat is cut from it."""

    SERVICED = "serviced"
    LEFT = "left", "left as it is"


class GuideHow(Said):
    """What was done to a guide that was serviced."""

    REPLACED = "replaced", "new guide"
    SLEEVED = "sleeved", "sleeved"
    REAMED = "reamed", "reamed for a larger stem"
    KNURLED = "knurled", "knurled and reamed"


class GuideMethod(Said):
    """How a guide was measured; a rocking figure is never held against a clearance limit."""

    BORE = "bore", "bore gauge"
    ROCKING = "rocking", "rocking the valve"
    PILOT_FIT = "pilot_fit", "fit of the pilot"


class InspectionKind(Said):
    """What was inspected, or was not and why."""

    CRACK = "crack", "crack test"
    PRESSURE_BEFORE = "pressure_before", "pressure test as it came in"
    PRESSURE_AFTER = "pressure_after", "pressure test after boring"
    FLATNESS = "flatness", "deck flatness"
    HARDNESS = "hardness"
    CAM_LINE = "cam_line", "cam bore line"
    SEATING = "seating", "seating of the ring, by feeler"
    VACUUM = "vacuum", "vacuum test"
    CONDITION = "condition", "condition as it came in"
    CHAMBER_VOLUMES = "chamber_volumes", "chamber volumes"
    FINAL_CLEAN = "final_clean", "final clean"


class Outcome(Said):
    """How an inspection ended; "not done" always carries a because."""

    OK = "ok", "OK"
    NOT_OK = "not_ok", "not OK"
    NOT_DONE = "not_done", "not done"


class InspectionWay(Said):
    """How a head goes on after it was inspected."""

    GO_ON = "go_on", "go on"
    ASK_CUSTOMER = "ask_customer", "ask the customer"
    SCRAP = "scrap", "scrap the head"


class Way(Said):
    """A way out of a hold."""

    CUT_AGAIN = "cut_again", "cut again"
    ANOTHER_RING = "another_ring", "another ring of the set"
    LARGER_RING = "larger_ring", "a larger ring"
    READ_AGAIN = "read_again", "read again"
    WELD = "weld", "weld and bore again"
    SCRAP = "scrap", "scrap the head"
    STOP_AND_ASK = "stop_and_ask", "stop and ask"
    DEVIATION = "deviation", "keep it, signed as a deviation"


class Chill(Said):
    """How a ring is made cold before it goes in."""

    NONE = "none", "not chilled"
    FREEZER = "freezer", "in a freezer"
    DRY_ICE = "dry_ice", "in dry ice"
    LIQUID_NITROGEN = "liquid_nitrogen", "in liquid nitrogen"


class DecisionRule(Said):
    """How a possible error is taken into a verdict."""

    SIMPLE = "simple", "simple: hold only outside the window"
    ISO_14253_1_2017 = (
        "iso_14253_1_2017",
        "ISO 14253-1:2017: window less 0.83 of the possible error",
    )
    FULL_GUARD = "full_guard", "full guard: window less the whole possible error"


class Page(Said):
    """Where an open point is closed; the web layer knows the address."""

    INTAKE = "intake", "intake"
    LAYOUT = "layout", "valve layout"
    POSITIONS = "positions", "work of each position"
    CONSENT = "consent", "consent"
    RECEIVED = "received", "what came with it"
    PARTS_OUT = "parts_out", "counting out"
    INSPECTIONS = "inspections", "inspections"
    STEM_HEIGHTS = "stem_heights", "stem heights"
    GUIDES = "guides", "guides"
    POCKETS = "pockets", "old pockets"
    RING_SET = "ring_set", "ring set"
    SETTING = "setting", "setting"
    CUT = "cut", "cut and gauge"
    HOLD = "hold", "ways out"
    RING_IN = "ring_in", "ring in"
    RINGS_IN = "rings_in", "rings in"  # all of one heat
    HEAT = "heat", "heat and cold"
    FINISH = "finish", "seat finish"
    SIGNATURE = "signature", "signature"
    HAND_OVER = "hand_over", "hand-over"
    WAITING = "waiting", "what it waits for"
    END = "end", "another end"


def money(minor: int) -> str:
    """An amount in minor units as a person writes it: ``64000`` is ``640.00``."""
    sign = "-" if minor < 0 else ""
    return f"{sign}{abs(minor) // 100}.{abs(minor) % 100:02d}"


# Own names: strftime follows the server's locale and has no day without a zero on Windows.
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_words(day: date, today: date) -> str:
    """A date as told over a phone: ``today``, ``Friday 27 Nov``, with the year when it differs."""
    if day == today:
        return "today"
    told = f"{DAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]}"
    return told if day.year == today.year else f"{told} {day.year}"


def listed(items: tuple[str, ...] | list[str], last: str = "and") -> str:
    """Names as said: ``2E``, ``2E and 3E``, ``1E, 2E and 3E``."""
    names = list(items)
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def place_words(place: str) -> str:
    """A rack place as it is told: ``3`` is ``rack 3``, a name such as ``Rack 6`` stays itself."""
    return f"rack {place}" if place[:1].isdigit() else place


def counted(count: int, one: str, many: str = "") -> str:
    """``1 position``, ``3 positions``."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def sentence(text: str) -> str:
    """Sentence case and a full stop, without touching what follows the first letter."""
    stripped = text.strip()
    if not stripped:
        return ""
    first = stripped[0].upper() + stripped[1:]
    return first if first.endswith((".", "?", "!")) else first + "."
