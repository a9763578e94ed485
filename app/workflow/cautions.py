"""Cautions: the hazard's word and the deferral stay; the shop's own sentence can be edited."""

from __future__ import annotations

from dataclasses import dataclass

DEFERRAL = (
    "Safety data sheets, the machine maker's instructions, local codes and licensed practice "
    "come first."
)


@dataclass(frozen=True, slots=True)
class Caution:
    """What stands at the step where the hazard is; `text` is the part a shop may change."""

    key: str
    word: str
    hazard: str
    text: str
    step: str
    defer: str = DEFERRAL


CAUTIONS: dict[str, Caution] = {
    caution.key: caution
    for caution in (
        Caution(
            "lifting",
            "Heavy head",
            "A head can crush a hand or a foot.",
            "Use the hoist for what one person cannot hold level.",
            "taking in, clamping up",
        ),
        Caution(
            "hot_tank",
            "Hot tank",
            "Caustic burns, and with aluminium it makes hydrogen and eats the head.",
            "Know the material before anything goes in; goggles, apron, eyewash at hand.",
            "cleaning",
        ),
        Caution(
            "pressure_test",
            "Pressure test",
            "Trapped air throws blanking plates.",
            "Bring the pressure up slowly, stand clear, let it down before loosening anything.",
            "pressure test",
        ),
        Caution(
            "old_ring",
            "Old ring",
            "Hard rings break and the pieces fly.",
            "Eye and face cover; cover the ring before it is struck or split.",
            "taking the old ring out",
        ),
        Caution(
            "pressing_guides",
            "Pressing",
            "A guide that stands crooked or grips too hard cracks the head, and pieces fly.",
            "Square under the press with a shouldered driver; eyes covered, hands clear.",
            "new guides",
        ),
        Caution(
            "turning_cutter",
            "Turning cutter",
            "A turning spindle catches gloves, sleeves and hair.",
            "No gloves; spindle stopped before a gauge or a hand goes in.",
            "cut and gauge",
        ),
        Caution(
            "dust",
            "Dust",
            "Dust of iron, cobalt, nickel and sintered rings harms the lungs.",
            "Extraction at the tool; wipe or vacuum, never sweep dry.",
            "cut and gauge",
        ),
        Caution(
            "beryllium_copper",
            "Beryllium copper",
            "Its dust causes lasting lung disease.",
            "Never cut, ground or sanded dry and never blown off; wet or enclosed work only.",
            "rings of beryllium copper",
        ),
        Caution(
            "blow_off",
            "Air blow-off",
            "Air drives chips into eyes and skin.",
            "Low pressure with a chip guard, never toward a person.",
            "blowing off",
        ),
        Caution(
            "hot_head",
            "Hot head",
            "A heated head burns long after it stops looking hot.",
            "Heat gloves, a tag on the head until it is cold. Rings already in are gripped less "
            "while it is hot.",
            "ring in",
        ),
        Caution(
            "dry_ice",
            "Dry ice",
            "It burns skin, and its gas lies low and displaces air.",
            "Insulated gloves, an open room, never a closed van or cold room.",
            "ring in",
        ),
        Caution(
            "liquid_nitrogen",
            "Liquid nitrogen",
            "It burns skin and eyes, and its gas displaces the air without a smell.",
            "Face shield, loose insulated gloves, open vessel, oxygen watched in the room.",
            "ring in",
        ),
        Caution(
            "sodium_valve",
            "Sodium-filled valve",
            "Sodium burns in water.",
            "Never cut or press it; set it aside for its own disposal.",
            "valves",
        ),
    )
}
