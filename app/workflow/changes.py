"""Facts that can change after something was accepted on them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from app.workflow.kinds import Quantity, Said


class Change(Said):
    """A fact that changed after something was accepted on it."""

    RING_OD_STRUCK = "ring_od_struck", "a ring outside diameter was struck"
    RING_HEIGHT_STRUCK = "ring_height_struck", "a ring height was struck"
    RING_ID_STRUCK = "ring_id_struck", "a ring inside diameter was struck"
    OD_CHECK_STRUCK = "od_check_struck", "the re-read of the ring in hand was struck"
    RINGS_SWAPPED = "rings_swapped", "rings were swapped"
    BORE_STRUCK = "bore_struck", "a bore reading was struck"
    BORE_READ_AGAIN = "bore_read_again", "bore and depth are read again"
    DEPTH_STRUCK = "depth_struck", "a depth reading was struck"
    OLD_POCKET_STRUCK = "old_pocket_struck", "an old pocket's reading was struck"
    WALL_STRUCK = "wall_struck", "a wall or centre distance was struck"
    GUIDE_STRUCK = "guide_struck", "a guide reading was struck"
    GUIDE_REPLACED = "guide_replaced", "the guide was replaced"
    NEW_GUIDE_STRUCK = "new_guide_struck", "a reading of a new guide or its bore was struck"
    PILOT_RE_MEASURED = "pilot_re_measured", "the pilot was measured again"
    FIXTURE_STRUCK = "fixture_struck", "a fixture reading was struck"
    TIP_CHANGED = "tip_changed", "the tip was changed or ground"
    TOUCH_OFF_CHANGED = "touch_off_changed", "touch-off or depth datum changed"
    RULE_CHANGED = "rule_changed", "the interference rule changed"
    RING_EXPANSION_CHANGED = "ring_expansion_changed", "the expansion of the rings changed"
    HEAD_EXPANSION_CHANGED = "head_expansion_changed", "the expansion of the head changed"
    STEM_STRUCK = "stem_struck", "a stem height was struck"
    INSPECTION_STRUCK = "inspection_struck", "a reading of the inspection was struck"
    SEAT_STRUCK = "seat_struck", "a seat width, run-out or stem height after was struck"


# A struck reading, by what was read.
OF_QUANTITY: Mapping[Quantity, Change] = MappingProxyType(
    {
        Quantity.RING_OD: Change.RING_OD_STRUCK,
        Quantity.RING_HEIGHT: Change.RING_HEIGHT_STRUCK,
        Quantity.RING_ID: Change.RING_ID_STRUCK,
        Quantity.OD_CHECK: Change.OD_CHECK_STRUCK,
        Quantity.BORE: Change.BORE_STRUCK,
        Quantity.DEPTH: Change.DEPTH_STRUCK,
        Quantity.OLD_BORE: Change.OLD_POCKET_STRUCK,
        Quantity.OLD_RUN_OUT: Change.OLD_POCKET_STRUCK,
        Quantity.OLD_DEPTH: Change.OLD_POCKET_STRUCK,
        Quantity.SEAT_OUTSIDE: Change.OLD_POCKET_STRUCK,
        Quantity.VALVE_HEAD: Change.OLD_POCKET_STRUCK,
        Quantity.WALL: Change.WALL_STRUCK,
        Quantity.CENTRE_DISTANCE: Change.WALL_STRUCK,
        Quantity.GUIDE_BORE: Change.GUIDE_STRUCK,
        Quantity.GUIDE_ROCKING: Change.GUIDE_STRUCK,
        Quantity.GUIDE_LENGTH: Change.GUIDE_STRUCK,
        Quantity.OVERHANG: Change.GUIDE_STRUCK,
        Quantity.PILOT_GUIDE_END: Change.PILOT_RE_MEASURED,
        Quantity.PILOT_SHANK: Change.PILOT_RE_MEASURED,
        Quantity.FIXTURE: Change.FIXTURE_STRUCK,
        Quantity.TOUCH_OFF: Change.TOUCH_OFF_CHANGED,
        Quantity.STEM_HEIGHT: Change.STEM_STRUCK,
        Quantity.DOWN_HEIGHT: Change.SEAT_STRUCK,
        Quantity.SEAT_WIDTH: Change.SEAT_STRUCK,
        Quantity.RUN_OUT: Change.SEAT_STRUCK,
        Quantity.STEM_AFTER: Change.SEAT_STRUCK,
        Quantity.STEM: Change.GUIDE_STRUCK,
        Quantity.NEW_GUIDE: Change.NEW_GUIDE_STRUCK,
        Quantity.GUIDE_HOUSING: Change.NEW_GUIDE_STRUCK,
        Quantity.RECESSION: Change.INSPECTION_STRUCK,
        Quantity.FLATNESS: Change.INSPECTION_STRUCK,
        Quantity.VALVE_MARGIN: Change.SEAT_STRUCK,
        Quantity.CONTACT_WIDTH: Change.SEAT_STRUCK,
        Quantity.CONTACT_FROM_EDGE: Change.SEAT_STRUCK,
        Quantity.FACE_RUN_OUT: Change.SEAT_STRUCK,
        Quantity.TIP_GROUND: Change.SEAT_STRUCK,
        Quantity.SPRING_HEIGHT: Change.SEAT_STRUCK,
        Quantity.SPRING_SHIM: Change.SEAT_STRUCK,
        Quantity.VALVE_LENGTH: Change.SEAT_STRUCK,
    }
)
