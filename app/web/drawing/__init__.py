"""Geometry and words of the drawings; the partials only place them."""

from app.web.drawing.fit import FitLine, FitPicture, fit_picture
from app.web.drawing.head_map import Chamber, HeadMap, MapPosition, Spot, head_map
from app.web.drawing.interference_scale import InterferenceScale, interference_scale
from app.web.drawing.seat import SeatDrawing, seat_drawing
from app.web.drawing.stage_ring import StageRing, stage_ring, state_word

__all__ = [
    "Chamber",
    "FitLine",
    "FitPicture",
    "HeadMap",
    "InterferenceScale",
    "MapPosition",
    "SeatDrawing",
    "Spot",
    "StageRing",
    "fit_picture",
    "head_map",
    "interference_scale",
    "seat_drawing",
    "stage_ring",
    "state_word",
]
