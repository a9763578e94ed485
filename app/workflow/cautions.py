"""Cautions: the hazard's word and the deferral stay; the shop's own sentence can be edited."""

from __future__ import annotations

from dataclasses import dataclass

DEFERRAL = (
    "Safety data sheets, the machine maker's instructions, local codes and licensed practice "
    "come first."
)
# Numbers of United States rules, noted without the text at hand: each is to be looked up.
CHECK = "check the official text"
GENERAL = f"29 USC 654, the general duty; {CHECK}"


@dataclass(frozen=True, slots=True)
class Caution:
    """What stands at the step where the hazard is; `text` is the part a shop may change."""

    key: str
    word: str
    hazard: str
    text: str
    step: str
    source: str
    defer: str = DEFERRAL


CAUTIONS: dict[str, Caution] = {
    caution.key: caution
    for caution in (
        Caution(
            "lifting",
            "Heavy head",
            "A head can crush a hand or a foot.",
            "Use the hoist for what one person cannot hold level.",
            "inspection, clamping up, deck",
            f"29 CFR 1910.184 (slings) and 1910.179 (cranes); {CHECK}",
        ),
        Caution(
            "hot_tank",
            "Hot tank",
            "Caustic burns, and with aluminium it makes hydrogen and eats the head.",
            "Know the material before anything goes in; goggles, apron, eyewash at hand.",
            "inspection: cleaning",
            f"29 CFR 1910.1200 and 1910.151(c); {CHECK}",
        ),
        Caution(
            "solvents",
            "Solvents",
            "Vapour of solvents burns and dulls the mind; wet skin takes it in.",
            "Fresh air, no flame or spark, gloves that its data sheet names.",
            "inspection: cleaning, dye penetrant",
            f"29 CFR 1910.106 and 1910.1200; {CHECK}",
        ),
        Caution(
            "pressure_test",
            "Pressure test",
            "Trapped air throws blanking plates.",
            "Bring the pressure up slowly, stand clear, let it down before loosening anything.",
            "pressure test",
            GENERAL,
        ),
        Caution(
            "old_ring",
            "Old ring",
            "Hard rings break and the pieces fly.",
            "Eye and face cover; cover the ring before it is struck or split.",
            "old rings out",
            f"29 CFR 1910.133 (eyes and face); {CHECK}",
        ),
        Caution(
            "pressing_guides",
            "Pressing",
            "A guide that stands crooked or grips too hard cracks the head, and pieces fly.",
            "Square under the press with a shouldered driver; eyes covered, hands clear.",
            "new guides",
            f"29 CFR 1910.212 (point of operation); {CHECK}",
        ),
        Caution(
            "turning_cutter",
            "Turning cutter",
            "A turning spindle catches gloves, sleeves and hair.",
            "No gloves; spindle stopped before a gauge or a hand goes in.",
            "cut and gauge",
            f"29 CFR 1910.212 (point of operation); {CHECK}",
        ),
        Caution(
            "dust",
            "Dust",
            "Dust of iron, cobalt, nickel and sintered rings harms the lungs.",
            "Extraction at the tool; wipe or vacuum, never sweep dry.",
            "cut and gauge, seats finished",
            f"29 CFR 1910.1000, table Z-1; {CHECK}",
        ),
        Caution(
            "beryllium_copper",
            "Beryllium copper",
            "Its dust causes lasting lung disease.",
            "Never cut, ground or sanded dry and never blown off; wet or enclosed work only.",
            "cut and gauge, ring in, where a ring is of it",
            f"29 CFR 1910.1024; {CHECK}",
        ),
        Caution(
            "blow_off",
            "Air blow-off",
            "Air drives chips into eyes and skin.",
            "Low pressure with a chip guard, never toward a person.",
            "cut and gauge, seats finished",
            f"29 CFR 1910.242(b); {CHECK}",
        ),
        Caution(
            "hot_head",
            "Hot head",
            "A heated head burns long after it stops looking hot.",
            "Heat gloves, a tag on the head until it is cold. Rings already in are gripped less "
            "while it is hot.",
            "heat and cold, ring in",
            f"29 CFR 1910.132 and 1910.138 (hands); {CHECK}",
        ),
        Caution(
            "dry_ice",
            "Dry ice",
            "It burns skin, and its gas lies low and displaces air.",
            "Insulated gloves, an open room, never a closed van or cold room.",
            "ring in",
            f"29 CFR 1910.1000, table Z-1, carbon dioxide; {CHECK}",
        ),
        Caution(
            "liquid_nitrogen",
            "Liquid nitrogen",
            "It burns skin and eyes, and its gas displaces the air without a smell.",
            "Face shield, loose insulated gloves, open vessel, oxygen watched in the room.",
            "ring in",
            f"29 CFR 1910.134 (oxygen) and 1910.138 (hands); {CHECK}",
        ),
        Caution(
            "sodium_valve",
            "Sodium-filled valve",
            "Sodium burns in water.",
            "Never cut or press it; set it aside for its own disposal.",
            "valves and springs",
            "the valve maker's notice",
        ),
    )
}

# What a spindle and its chips do, wherever metal is cut.
CUTTING = ("turning_cutter", "dust", "blow_off")
INSPECTING = ("lifting", "hot_tank", "solvents", "pressure_test")


def is_beryllium(material: str) -> bool:
    """A ring's material, as it was typed or chosen, is beryllium copper."""
    told = material.lower().replace("-", " ").replace("_", " ")
    return "beryll" in told or "becu" in told or "be cu" in told
