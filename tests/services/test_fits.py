"""Fits gathered from what is on record: by the aim before cutting, by the readings after."""

from __future__ import annotations

from sqlalchemy import event

from app.calc.units import Length
from app.db import Database
from app.models.head import Head
from app.models.material import ShopMaterial
from app.models.ring import RingSet
from app.services.heat_cases import add_heat_case
from app.workflow.heat_cases import Metal
from app.workflow.kinds import MaterialOf
from app.workflow.words import Kind
from app.worksheets.facts import HeadSheet, load_sheets
from app.worksheets.fits import Fit, fit_at, fits_of, fits_sources
from app.worksheets.shop_rules import current_rules
from tests.services.cast import Cast
from tests.services.conftest import Writing
from tests.services.floor import Floor

LABELS = ("2E", "3E")


def rings(floor: Floor, material: str = "chromium_steel") -> RingSet:
    return floor.hands.rings(
        floor.job,
        [floor.ports[label] for label in LABELS],
        [
            ["1.6262", "1.6262", "1.6261", "1.6261", ".2500", ".2502", ".2501", "1.376"],
            ["1.6262", "1.6261", ".2501"],
        ],
        label_od="1.625",
        material=material,
    )


def sheet_of(session, floor: Floor) -> HeadSheet:  # type: ignore[no-untyped-def]
    head = session.get_one(Head, floor.head.id)
    return load_sheets(session, [head])[head.id]


def all_fits(database: Database, floor: Floor) -> tuple[Fit, ...]:
    with database.read() as session:
        sheet = sheet_of(session, floor)
        sources = fits_sources(session, current_rules(session))
        return fits_of(sources, {sheet.head.id: sheet}, list(sheet.targets.values()))


def fit_of(database: Database, floor: Floor, label: str, measured: Length | None = None) -> Fit:
    with database.read() as session:
        sheet = sheet_of(session, floor)
        sources = fits_sources(session, current_rules(session))
        found = fit_at(sources, sheet, sheet.rows.port(floor.ports[label].id), measured)
    assert found is not None
    return found


def test_there_is_no_fit_before_rings_are_read(database: Database, floor: Floor) -> None:
    assert all_fits(database, floor) == ()


def test_positions_alike_have_one_fit_by_the_rules_aim(database: Database, floor: Floor) -> None:
    rings(floor)
    (fit,) = all_fits(database, floor)
    assert fit.names == LABELS
    assert fit.grip.interference == Length.of(".004")
    assert not fit.grip.is_measured
    assert fit.grip.told.startswith("the aim: grey iron, ring OD 1.25 up to 2.00 in")
    assert fit.grip.ring_id == Length.of("1.376")
    assert [case.name for case in fit.cases] == ["cold start", "running", "hard", "overheated"]


def test_a_bore_that_is_proved_is_told_by_its_readings(database: Database, floor: Floor) -> None:
    rings(floor)
    setting = floor.set_up()
    floor.hands.clamp(floor.head, floor.machine.id)
    assert not fit_of(database, floor, "2E").grip.is_measured
    floor.bore("2E", setting, "1.6205")
    floor.hands.correct(setting, "1.6205", 0)
    setting = floor.hands.set_to(setting)
    floor.bore("2E", setting, "1.6224")
    floor.hands.prove(floor.ports["2E"])
    fit = fit_of(database, floor, "2E")
    assert fit.grip.is_measured
    # 1.62615 less 1.6224
    assert fit.grip.interference.inches(5) == ".00375"
    assert fit.grip.told == "ring less bore, as measured"
    assert fit_of(database, floor, "3E").grip.interference == Length.of(".004")


def test_what_the_gauge_reads_now_comes_before_the_verdict(
    database: Database, floor: Floor
) -> None:
    rings(floor)
    fit = fit_of(database, floor, "2E", Length.of(".0046"))
    assert fit.grip.is_measured
    assert fit.grip.interference == Length.of(".0046")


def test_a_ring_left_in_the_head_counts_as_one_that_heat_would_loosen(
    database: Database, floor: Floor
) -> None:
    rings(floor)
    assert not fit_of(database, floor, "2E").grip.others_in
    floor.hands.by(floor.cast.service_writer)
    floor.hands.decide(
        floor.head,
        {"2E": "ring", "3E": "ring", "4E": "leave", "*": "seat_only"},
        {"4E": "ring", "*": "casting"},
    )
    assert fit_of(database, floor, "2E").grip.others_in


def test_a_case_that_the_owner_adds_is_looked_at(
    database: Database, floor: Floor, writing: Writing, cast: Cast
) -> None:
    rings(floor)
    with writing(by=cast.owner) as tx:
        add_heat_case(tx, Metal.IRON, Kind.EXHAUST, "generator", 350, 220, "the owner")
        add_heat_case(tx, Metal.IRON, Kind.INTAKE, "not here", 150, 120, "the owner")
    (fit,) = all_fits(database, floor)
    assert [case.name for case in fit.cases][-1] == "generator"


def test_rings_of_a_material_without_figures_say_what_is_needed(
    database: Database, floor: Floor
) -> None:
    rings(floor, "sintered")
    (fit,) = all_fits(database, floor)
    assert [one.key for one in fit.says] == ["expansion_unknown"]
    assert "sintered, other" in fit.missing[0]


def test_a_material_of_the_shops_own_is_worked_with_its_makers_figures(
    database: Database, floor: Floor, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        tx.add(
            ShopMaterial(
                by_id=tx.by_id,
                at=tx.at,
                key="own_ring",
                material_of=MaterialOf.RING,
                name="Seat alloy 7",
                family="sintered",
                mean_expansions="[[100, 12.0], [400, 13.0]]",
                modulus_gpa=130,
                poisson=0.28,
                yield_mpa=700,
                source="its maker's sheet",
            )
        )
    rings(floor, "own_ring")
    (fit,) = all_fits(database, floor)
    assert fit.missing == ()
    assert fit.press_steps
    cited = {step.source for step in (*fit.heat_steps, *fit.press_steps)}
    assert any("its maker's sheet" in source for source in cited)


def test_a_pages_fits_cost_one_statement(database: Database, floor: Floor) -> None:
    rings(floor)
    asked: list[str] = []
    with database.read() as session:
        sheet = sheet_of(session, floor)
        rules = current_rules(session)
        event.listen(database.engine, "before_cursor_execute", lambda *a: asked.append(a[2]))
        fits_of(fits_sources(session, rules), {sheet.head.id: sheet}, list(sheet.targets.values()))
    assert len(asked) == 1
