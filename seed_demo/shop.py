"""The demo shop: its people, crib and shelf. Everything here is invented."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.forms.crib import (
    CheckForm,
    CutterForm,
    FixtureForm,
    InstrumentForm,
    MachineForm,
    PilotForm,
)
from app.forms.materials import MaterialForm
from app.forms.price_items import PriceItemForm
from app.forms.ring_sizes import BlanksForm, OversizesForm
from app.forms.shelf import NewShelfSetForm
from app.models.crib import Cutter, Fixture, Instrument, Machine, Pilot
from app.models.material import ShopMaterial
from app.models.person import Person
from app.services.cutters import change_tip, create_cutter
from app.services.fixtures import create_fixture
from app.services.instruments import check_instrument, create_instrument
from app.services.machines import create_machine
from app.services.materials import add_material
from app.services.people import add_person
from app.services.pilots import create_pilot
from app.services.pin import hash_pin
from app.services.price_items import add_price_item
from app.services.readings import ReadWith
from app.services.ring_sizes import add_series
from app.services.shelf import create_shelf_set
from app.services.shop import open_shop
from app.services.shop_rules import set_rule
from app.workflow.kinds import MaterialOf, Unit
from app.workflow.words import Role
from seed_demo.hands import Hands, filled

SHOP = "Hollow Hill Heads"
ZONE = "Europe/Prague"
# What for, the amount, for each of what, and the finding that proposes it.
PRICES = (
    ("Head washed and looked at", "60", "head", "head"),
    ("Crack test", "45", "head", "crack_test"),
    ("Pressure test", "55", "head", "pressure_test"),
    ("Seat ring, fitted", "95", "position", "seat_ring"),
    ("Old seat ring out", "30", "position", "old_ring_out"),
    ("Seat cut", "38", "position", "seat"),
    ("Guide, new or sleeved, and reamed", "35", "position", "guide"),
    ("Deck cut", "80", "head", "deck"),
    ("Valve refaced", "9", "position", "valve_refaced"),
    ("New valve, fitted", "28", "position", "valve_new"),
    ("Vacuum test, each valve", "3", "position", "vacuum_test"),
    ("Courier", "25", "job", ""),
)
WARRANTY = (
    "Our work on this head is under warranty for six months from the day it is collected, where "
    "it was fitted and run as the engine's maker says. Rings that the customer brought are left "
    "out of it."
)
SHELF_RINGS = (
    ("1.6461", "1.6460", "1.6461", "1.6462", ".2501", ".2500", ".2501", "1.376"),
    ("1.6460", "1.6461", ".2500"),
)
PINS = {"Odile": "3333", "Marek": "2222", "Wilma": "1111"}
ROLES = {
    "Odile": Role.OWNER,
    "Marek": Role.MACHINIST,
    "Wilma": Role.SERVICE_WRITER,
}


@dataclass(frozen=True)
class Shop:
    """Who works here and what with."""

    odile: Person
    marek: Person
    wilma: Person
    machine: Machine
    iron_cutter: Cutter
    aluminium_cutter: Cutter
    fixture: Fixture
    metric_fixture: Fixture
    pilot: Pilot
    metric_pilot: Pilot
    od: Instrument
    bore: Instrument
    alloy: ShopMaterial
    ring_material: ShopMaterial


def sign_in_lines() -> list[str]:
    """Who can sign in, with which PIN; printed and shown on the sign-in page."""
    return [
        f"{name}, {ROLES[name].screen}: PIN {PINS[name]}" for name in ("Wilma", "Marek", "Odile")
    ]


def open_demo(hands: Hands, since: datetime) -> Shop:
    """The shop with its people, crib and shelf."""
    with hands.writing() as tx:
        odile = open_shop(
            tx,
            name=SHOP,
            owner="Odile",
            pin_hash=hash_pin(PINS["Odile"], "cheap"),
            zone=ZONE,
            currency="EUR",
            unit=Unit.INCH,
            is_demo=True,
        )
    hands.by(odile)
    people = {}
    for name in ("Marek", "Wilma"):
        with hands.writing() as tx:
            people[name] = add_person(tx, name, ROLES[name], hash_pin(PINS[name], "cheap"))
    for text, amount, priced_by, proposed_by in PRICES:
        raw = {"text": text, "amount": amount, "priced_by": priced_by, "proposed_by": proposed_by}
        with hands.writing() as tx:
            add_price_item(tx, filled(PriceItemForm(raw)))
    with hands.writing() as tx:
        set_rule(tx, "warranty_text", WARRANTY, "the shop's own terms")
    return fit_out(hands, since, odile, people["Marek"], people["Wilma"])


def fit_out(hands: Hands, since: datetime, odile: Person, marek: Person, wilma: Person) -> Shop:
    measured = since.date().isoformat()
    with hands.writing() as tx:
        machine = create_machine(tx, _machine())
    with hands.writing() as tx:
        iron_cutter = create_cutter(tx, _cutter("Cutter 1", "for iron heads"))
    with hands.writing() as tx:
        aluminium_cutter = create_cutter(tx, _cutter("Cutter 2", "sharp tip, for aluminium"))
    for cutter in (iron_cutter, aluminium_cutter):
        with hands.writing() as tx:
            change_tip(tx, cutter.id, "new carbide tip")
    with hands.writing() as tx:
        create_cutter(
            tx,
            filled(
                CutterForm(
                    {"name": "Fixed 1.500", "kind": "fixed", "fixed_size": "1.500"}, unit=Unit.INCH
                )
            ),
        )
    with hands.writing() as tx:
        fixture = create_fixture(tx, _fixture("Setting fixture", "radius", ".0001", "in"))
    with hands.writing() as tx:
        metric_fixture = create_fixture(
            tx, _fixture("Across-pilot micrometer", "across_pilot", "0.002", "mm")
        )
    with hands.writing() as tx:
        pilot = create_pilot(tx, _pilot("Pilot .3432", ".3432", ".3431", "in", measured))
    with hands.writing() as tx:
        metric_pilot = create_pilot(tx, _pilot("Pilot 6.98", "6.980", "6.981", "mm", measured))
    od = _instrument(
        hands,
        {"name": "OD micrometer 1–2", "kind": "od", "greatest_error": ".0001"},
        {"master": "1.0000", "read": "1.0000", "master_name": "setting disc 1.0"},
    )
    bore = _instrument(
        hands,
        {"name": "Bore gauge 1.4–2.4", "kind": "bore", "greatest_error": ".0002"},
        {"master": "1.6000", "read": "1.6001", "master_name": "setting ring 1.6"},
    )
    hands.rings_with, hands.bores_with = ReadWith(od.id), ReadWith(bore.id)
    alloy = _material(
        hands,
        MaterialOf.HEAD,
        name="Sallow cast 4",
        family="aluminium",
        to_1="100",
        alpha_1="21.2",
        to_2="300",
        alpha_2="23.1",
        source="Sallow Foundry, sheet 4 (invented)",
    )
    ring_material = _material(
        hands,
        MaterialOf.RING,
        name="Quarry S-11, sintered",
        family="sintered",
        to_1="100",
        alpha_1="11.6",
        to_2="300",
        alpha_2="12.4",
        within="0.5",
        modulus="135",
        poisson="0.28",
        **{"yield": "780"},
        source="Quarry Rings, sheet S-11 (invented)",
    )
    _shelf(hands, ring_material)
    return Shop(
        odile=odile,
        marek=marek,
        wilma=wilma,
        machine=machine,
        iron_cutter=iron_cutter,
        aluminium_cutter=aluminium_cutter,
        fixture=fixture,
        metric_fixture=metric_fixture,
        pilot=pilot,
        metric_pilot=metric_pilot,
        od=od,
        bore=bore,
        alloy=alloy,
        ring_material=ring_material,
    )


def _machine() -> MachineForm:
    return filled(MachineForm({"name": "Seat-and-guide machine", "travel": "6.0"}, unit=Unit.INCH))


def _cutter(name: str, note: str) -> CutterForm:
    raw = {"name": name, "kind": "adjustable", "corner_radius": ".012", "note": note}
    return filled(CutterForm(raw, unit=Unit.INCH))


def _fixture(name: str, mode: str, division: str, unit: str) -> FixtureForm:
    raw = {"name": name, "mode": mode, "division": division, "unit": unit}
    return filled(FixtureForm(raw, unit=Unit(unit)))


def _pilot(name: str, guide: str, shank: str, unit: str, measured: str) -> PilotForm:
    raw = {
        "name": name,
        "guide_diameter": guide,
        "shank_diameter": shank,
        "unit": unit,
        "measured_on": measured,
    }
    return filled(PilotForm(raw, unit=Unit(unit)))


def _instrument(hands: Hands, what: dict[str, str], checked: dict[str, str]) -> Instrument:
    raw = {"unit": "in", "division": ".0001", "repeatability": ".0001", **what}
    raw["check_every_days"] = "60"
    with hands.writing() as tx:
        made = create_instrument(tx, filled(InstrumentForm(raw, unit=Unit.INCH)))
    with hands.writing() as tx:
        check = CheckForm({"master_uncertainty": ".00004", **checked}, instrument=made)
        check_instrument(tx, made.id, filled(check))
    return made


def _material(hands: Hands, of: MaterialOf, **raw: str) -> ShopMaterial:
    with hands.writing() as tx:
        return add_material(tx, filled(MaterialForm(raw, material_of=of)))


def _shelf(hands: Hands, ring_material: ShopMaterial) -> None:
    for name, od, height, inside, pieces in (
        ("Exhaust +.010", "1.635", ".250", "1.376", "4"),
        ("Exhaust +.020", "1.645", ".250", "1.376", "2"),
        ("Blank 1 3/4", "1.750", ".3125", "1.250", "6"),
    ):
        raw = {
            "name": name,
            "unit": "in",
            "owner": "shop",
            "label_od": od,
            "label_height": height,
            "label_inside": inside,
            "pieces": pieces,
            "place": "drawer 2",
            "material": ring_material.key if name.startswith("Exhaust") else "",
        }
        form = NewShelfSetForm(raw, unit=Unit.INCH, own_materials=(ring_material.key,))
        with hands.writing() as tx:
            box = create_shelf_set(tx, filled(form))
        if name == "Exhaust +.020":
            hands.read_box(box, SHELF_RINGS)
    _size_list(hands)


def _size_list(hands: Hands) -> None:
    """What an invented seller lists: oversizes of a ring, and blanks."""
    of = {"unit": "in", "supplier": "Quarry Rings", "height": ".250"}
    ticked = {f"step_in_{n}": "yes" for n in range(4)}
    exhaust = OversizesForm(
        {**of, **ticked, "od": "1.625", "inside": "1.376", "material": "chromium steel"},
        unit=Unit.INCH,
    )
    metric = OversizesForm(
        {
            "unit": "mm",
            "supplier": "Mill Pond Seats",
            "od": "34.30",
            "height": "6.35",
            "inside": "28.90",
            **{f"step_mm_{n}": "yes" for n in range(4)},
        },
        unit=Unit.MM,
    )
    blank = BlanksForm(
        {**of, "least": "1 1/2", "most": "1 7/8", "step": "32", "inside": "1.125"},
        unit=Unit.INCH,
    )
    for form in (exhaust, metric, blank):
        with hands.writing() as tx:
            add_series(tx, filled(form))
