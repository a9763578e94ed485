"""The shop's own materials: added, changed, out of use, and what rests on their expansion."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

import pytest
from sqlmodel import Session, col, select

from app.calc.materials import RING_MATERIALS
from app.calc.sources import Mark
from app.calc.stiffness import StrengthKind
from app.db import Database
from app.forms.heads import HeadForm
from app.forms.materials import MaterialForm
from app.forms.ring_sets import RingSetForm
from app.models.event import Event
from app.models.head import Head
from app.models.material import ShopMaterial
from app.models.port_pass import Verification
from app.models.result import NoLongerStands, Result
from app.models.ring import RingSet
from app.queries.materials import head_choices, material_tables, material_view, ring_choices
from app.services.heads import describe_head
from app.services.materials import (
    add_material,
    bring_back_material,
    change_material,
    retire_material,
)
from app.services.ring_sets import edit_set
from app.services.shop_rules import set_rule
from app.services.write import NotFound, Refused
from app.workflow.kinds import MaterialOf, ResultKind, RingOwner, Unit
from app.workflow.words import LabelMeans, Material
from app.worksheets.materials import MaterialFigures, head_figures, ring_figures
from tests.services.conftest import Cast, Writing
from tests.services.finished import finish_head
from tests.services.floor import MAP, Floor

RING = {
    "name": "Quarry 7",
    "family": "sintered",
    "to_1": "100",
    "alpha_1": "11.2",
    "to_2": "300",
    "alpha_2": "12.0",
    "within": "0.5",
    "modulus": "140",
    "poisson": "0.28",
    "yield": "700",
    "source": "Quarry Rings, sheet 7 of 2025",
}
HEAD = {
    "name": "Hollow iron 3",
    "family": "grey_iron",
    "to_1": "100",
    "alpha_1": "12.4",
    "source": "foundry sheet HI-3",
}


def material_form(of: MaterialOf, fields: dict[str, str], **changes: str) -> MaterialForm:
    return MaterialForm({**fields, **changes}, material_of=of)


def ring_form(**changes: str) -> MaterialForm:
    return material_form(MaterialOf.RING, RING, **changes)


def head_form(**changes: str) -> MaterialForm:
    return material_form(MaterialOf.HEAD, HEAD, **changes)


def rings_of(key: str, **known: Any) -> RingSet:
    return RingSet(
        material=key,
        owner=RingOwner.SHOP,
        unit=Unit.INCH,
        label_means=LabelMeans.UNKNOWN,
        **known,
    )


def figures(session: Session, key: str, **known: Any) -> MaterialFigures:
    return ring_figures(session, rings_of(key, **known))


def stale(database: Database) -> set[tuple[ResultKind, str]]:
    """What no longer stands, and why."""
    with database.read() as session:
        rows = session.exec(
            select(Result.kind, NoLongerStands.because).join(
                NoLongerStands, col(NoLongerStands.result_id) == col(Result.id)
            )
        ).all()
    return {(ResultKind(kind), because) for kind, because in rows}


# Figures


def test_a_tabled_family_has_its_figures_and_a_sintered_one_asks_for_the_makers(
    database: Database, cast: Cast
) -> None:
    with database.read() as session:
        h13 = figures(session, "hot_work_steel")
        assert [point.to_c for point in h13.points] == [100, 204]
        assert h13.stiffness is not None
        assert not h13.is_own
        sintered = figures(session, "sintered")
    assert (sintered.points, sintered.expansion) == ((), None)
    assert (sintered.stiffness, sintered.strength) == (None, None)


def test_what_is_typed_with_the_set_wins_at_every_temperature(
    database: Database, cast: Cast
) -> None:
    with database.read() as session:
        typed = figures(session, "sintered", alpha_per_k=12.5e-6)
        same = figures(session, "grey_iron", alpha_per_k=11.4e-6)
    assert typed.alpha_per_k == Fraction(125, 10_000_000)
    assert [point.alpha_per_k for point in typed.points] == [typed.alpha_per_k]
    assert typed.expansion is not None
    assert "typed with the ring set" in typed.expansion.source.cited
    # The family's own figure, kept with the set, is the family's: it goes on growing with heat.
    assert [point.to_c for point in same.points] == [100, 200, 400]


def test_a_ring_of_the_shops_own_has_its_makers_figures_and_none_besides(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        full = add_material(tx, ring_form())
        bare = add_material(
            tx, ring_form(name="Quarry 8", family="", modulus="", poisson="", **{"yield": ""})
        )
    with database.read() as session:
        own = figures(session, full.key)
        assert (own.name, own.family, own.is_own) == ("Quarry 7", "sintered", True)
        assert [(point.to_c, float(point.alpha_per_k)) for point in own.points] == [
            (100, 11.2e-6),
            (300, 12.0e-6),
        ]
        assert own.within_per_k == Fraction(5, 10_000_000)
        assert own.expansion is not None
        assert own.expansion.source.text == "Quarry Rings, sheet 7 of 2025"
        assert own.expansion.source.mark is Mark.ENTERED
        assert own.stiffness is not None
        assert (own.stiffness.elastic.e_gpa, own.stiffness.elastic.nu) == (140, 0.28)
        assert own.strength is not None
        assert (own.strength.low_mpa, own.strength.kind) == (700, StrengthKind.YIELD)
        lacking = figures(session, bare.key)
    assert lacking.family == "unknown"
    assert lacking.expansion is not None
    assert (lacking.stiffness, lacking.strength) == (None, None)


def test_an_alloys_missing_figure_is_its_familys_and_says_so(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        alloy = add_material(tx, head_form())
    with database.read() as session:
        head = Head(job_id=1, nth=1, gate_version=1, material=Material.GREY_IRON, alloy=alloy.key)
        own = head_figures(session, head)
        family = head_figures(session, Head(job_id=1, nth=1, material=Material.GREY_IRON))
        none = head_figures(session, Head(job_id=1, nth=1, material=None))
    assert none is None
    assert own is not None
    assert family is not None
    assert own.alpha_per_k == Fraction(124, 10_000_000)
    assert own.stiffness is not None
    assert family.stiffness is not None
    assert own.stiffness.elastic == family.stiffness.elastic
    assert own.stiffness.source.text.startswith("as grey iron: ")
    assert own.stiffness.words.startswith("as grey iron, ")
    assert own.strength is not None
    assert own.strength.source.text.startswith("as grey iron: ")


# Adding and changing


def test_a_changed_material_is_a_new_version_and_the_old_one_stays(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        first = add_material(tx, ring_form())
        second = change_material(tx, first.key, ring_form(alpha_1="11.6", seen=str(first.id)))
        assert second.key == first.key
        assert second.id != first.id
    with database.read() as session:
        view = material_view(session, first.key)
        assert view is not None
        assert [one.points[0][1] for one in view.versions] == [11.6, 11.2]
        assert figures(session, first.key).alpha_per_k == Fraction(116, 10_000_000)
        body = session.exec(select(Event.body).order_by(col(Event.id).desc())).first()
    assert body is not None
    assert json.loads(body)["was"]["mean_expansions"] == "[[100, 11.2], [300, 12.0]]"
    assert "Quarry" not in body


def test_a_late_page_does_not_write_over_a_newer_version(writing: Writing, cast: Cast) -> None:
    with writing(by=cast.owner) as tx:
        first = add_material(tx, ring_form())
        change_material(tx, first.key, ring_form(alpha_1="11.6", seen=str(first.id)))
    with pytest.raises(Refused, match="while the page was open"), writing(by=cast.owner) as tx:
        change_material(tx, first.key, ring_form(alpha_1="11.9", seen=str(first.id)))
    with pytest.raises(Refused, match="while the page was open"), writing(by=cast.owner) as tx:
        retire_material(tx, first.key, first.id)


@pytest.mark.parametrize("name", ["quarry 7", "Cobalt alloy"])
def test_a_name_means_one_material(writing: Writing, cast: Cast, name: str) -> None:
    with writing(by=cast.owner) as tx:
        add_material(tx, ring_form())
    with pytest.raises(Refused) as no, writing(by=cast.owner) as tx:
        add_material(tx, ring_form(name=name))
    assert no.value.field == "name"


def test_nothing_new_is_no_new_version(writing: Writing, cast: Cast) -> None:
    with writing(by=cast.owner) as tx:
        row = add_material(tx, ring_form())
    with pytest.raises(Refused, match="hold already"), writing(by=cast.owner) as tx:
        change_material(tx, row.key, ring_form())
    with pytest.raises(NotFound), writing(by=cast.owner) as tx:
        change_material(tx, "own-9", ring_form())


def test_an_alloy_keeps_the_family_that_heads_are_filed_under(writing: Writing, cast: Cast) -> None:
    with writing(by=cast.owner) as tx:
        row = add_material(tx, head_form())
        other = change_material(tx, row.key, head_form(family="ductile_iron", alpha_1="12.5"))
        assert other.family == "grey_iron"


# Choosing


def test_a_retired_material_is_offered_only_where_it_is_chosen(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        ring = add_material(tx, ring_form())
        alloy = add_material(tx, head_form())
        retire_material(tx, ring.key, ring.id)
        retire_material(tx, alloy.key, alloy.id)
    with database.read() as session:
        assert ring.key not in dict(ring_choices(session))
        assert "out of use" in dict(ring_choices(session, ring.key))[ring.key]
        offered = [value for value, _, _ in head_choices(session, alloy.key)]
        assert offered[:2] == ["grey_iron", f"grey_iron/{alloy.key}"]
        assert f"grey_iron/{alloy.key}" not in [value for value, *_ in head_choices(session)]
        assert figures(session, ring.key).expansion is not None
    with writing(by=cast.owner) as tx:
        bring_back_material(tx, ring.key, None)
    with pytest.raises(Refused, match="so already"), writing(by=cast.owner) as tx:
        bring_back_material(tx, ring.key, None)
    with database.read() as session:
        assert list(dict(ring_choices(session)))[-2:] == [ring.key, "unknown"]


def test_a_head_keeps_its_alloy_and_the_alloys_family(floor: Floor, cast: Cast) -> None:
    alloy = new_alloy(floor)
    describe(floor, f"grey_iron/{alloy.key}")
    with floor.database.read() as session:
        head = session.get_one(Head, floor.head.id)
        assert (head.material, head.alloy) == (Material.GREY_IRON, alloy.key)
        view = material_view(session, alloy.key)
        assert view is not None
        assert view.heads == 1
    describe(floor, "grey_iron")
    with floor.database.read() as session:
        assert session.get_one(Head, floor.head.id).alloy is None


@pytest.mark.parametrize("way", ["unknown", "other_family", "ring", "retired"])
def test_an_alloy_that_cannot_be_chosen_is_refused_at_its_field(floor: Floor, way: str) -> None:
    alloy = new_alloy(floor)
    with floor.hands.writing() as tx:
        ring = add_material(tx, ring_form())
        if way == "retired":
            retire_material(tx, alloy.key, alloy.id)
    value = {
        "unknown": "grey_iron/own-9",
        "other_family": f"aluminium/{alloy.key}",
        "ring": f"grey_iron/{ring.key}",
        "retired": f"grey_iron/{alloy.key}",
    }[way]
    with pytest.raises(Refused) as no:
        describe(floor, value)
    assert no.value.field == "material"


# What rests on an expansion


def new_alloy(floor: Floor) -> ShopMaterial:
    with floor.hands.writing() as tx:
        return add_material(tx, head_form())


def describe(floor: Floor, material: str) -> None:
    raw = {"casting": "FH 221", "layout": MAP, "valves": "2", "unit": "in", "material": material}
    form = HeadForm({**raw, "numbered_from": "timing end"})
    assert form.ok, form.errors
    with floor.hands.writing() as tx:
        describe_head(tx, floor.head.id, form)


def change(floor: Floor, row: ShopMaterial, form: MaterialForm) -> None:
    assert form.ok, form.errors
    with floor.hands.writing() as tx:
        change_material(tx, row.key, form)


def make_warm(floor: Floor, shop_c: str, within: str = "0") -> None:
    with floor.hands.writing() as tx:
        set_rule(tx, "temperature_within", within, "for this test")
        if shop_c != "20":
            set_rule(tx, "temperature_c", shop_c, "a hot day")


def the_alloy(floor: Floor) -> ShopMaterial:
    with floor.database.read() as session:
        return session.exec(select(ShopMaterial)).one()


def bored_warm(floor: Floor) -> None:
    """A head of the alloy bored at 30 °C."""
    describe(floor, f"grey_iron/{new_alloy(floor).key}")
    make_warm(floor, "30")
    floor.bored()


def other_bored_warm(floor: Floor) -> None:
    """A head of plain iron bored at 30 °C, in a shop that knows the alloy."""
    new_alloy(floor)
    make_warm(floor, "30")
    floor.bored()


def proved(floor: Floor) -> list[int]:
    """The mean bores at 20 °C, as they were accepted."""
    with floor.database.read() as session:
        found = session.exec(select(Verification).order_by(col(Verification.id)))
        return [each.bore_mean.nm for each in found]


@pytest.mark.parametrize("stage", [bored_warm])
def test_a_bore_is_taken_to_twenty_degrees_by_the_alloy_of_its_head(floor: Floor) -> None:
    read = Fraction(41_203_880)  # 1.6222 in
    taken = read * (1 + Fraction(115, 10**7) * 10) / (1 + Fraction(124, 10**7) * 10)
    assert proved(floor) == [round(taken)] * 2


@pytest.mark.parametrize(("shop_c", "is_stale"), [("30", True), ("20", False)])
def test_another_expansion_unsettles_a_bore_proved_away_from_twenty_degrees(
    floor: Floor, shop_c: str, is_stale: bool
) -> None:
    alloy = new_alloy(floor)
    describe(floor, f"grey_iron/{alloy.key}")
    make_warm(floor, shop_c)
    floor.bored()
    change(floor, alloy, head_form(alpha_1="11.9"))
    expected = {(ResultKind.VERIFICATION, "the expansion of Hollow iron 3 was changed")}
    assert stale(floor.database) == (expected if is_stale else set())
    if is_stale:
        floor.hands.prove(floor.ports["2E"])
        first, _, again = proved(floor)
        assert again > first


def test_a_possible_error_that_rests_on_the_expansion_falls_with_it(floor: Floor) -> None:
    alloy = new_alloy(floor)
    describe(floor, f"grey_iron/{alloy.key}")
    make_warm(floor, "20", within="2")
    floor.bored()
    change(floor, alloy, head_form(alpha_1="11.9"))
    assert {kind for kind, _ in stale(floor.database)} == {ResultKind.VERIFICATION}


@pytest.mark.parametrize("stage", [bored_warm])
def test_another_modulus_or_name_leaves_every_verdict_alone(floor: Floor) -> None:
    change(
        floor,
        the_alloy(floor),
        head_form(name="Hollow iron, third melt", modulus="120", poisson=".27"),
    )
    assert stale(floor.database) == set()


def test_what_is_signed_keeps_the_expansion_that_it_was_signed_with(floor: Floor) -> None:
    alloy = new_alloy(floor)
    describe(floor, f"grey_iron/{alloy.key}")
    make_warm(floor, "30")
    finish_head(floor)
    change(floor, alloy, head_form(alpha_1="11.9"))
    assert stale(floor.database) == set()


@pytest.mark.parametrize("stage", [other_bored_warm])
def test_a_head_of_another_metal_keeps_its_verdicts(floor: Floor) -> None:
    alloy = the_alloy(floor)
    change(floor, alloy, head_form(alpha_1="11.9"))
    assert stale(floor.database) == set()


@pytest.mark.parametrize("stage", [other_bored_warm])
def test_another_alloy_named_for_a_head_unsettles_what_was_taken_to_twenty_degrees(
    floor: Floor,
) -> None:
    alloy = the_alloy(floor)
    describe(floor, f"grey_iron/{alloy.key}")
    assert {kind for kind, _ in stale(floor.database)} == {ResultKind.VERIFICATION}


@pytest.mark.parametrize("stage", [Floor.set_from_rings])
def test_a_head_of_another_family_loses_its_targets_too(floor: Floor) -> None:
    describe(floor, "aluminium")
    assert stale(floor.database) == {(ResultKind.TARGET, "the head's material was changed")}


@pytest.mark.parametrize(("shop_c", "is_stale"), [("30", True), ("20", False)])
def test_another_expansion_of_a_rings_material_unsettles_the_targets_of_rings_read_warm(
    floor: Floor, shop_c: str, is_stale: bool
) -> None:
    make_warm(floor, shop_c)
    ring_set = floor.read_rings()
    with floor.hands.writing() as tx:
        row = add_material(tx, ring_form())
        edit_set(tx, ring_set, RingSetForm({"material": row.key}, Unit.INCH, fresh=False))
    floor.set_up()
    with floor.database.read() as session:
        assert session.get_one(RingSet, ring_set.id).alpha_per_k is None
    change(floor, row, ring_form(alpha_1="12"))
    expected = {(ResultKind.TARGET, "the expansion of Quarry 7 was changed")}
    assert stale(floor.database) == (expected if is_stale else set())


def test_a_set_with_a_typed_expansion_does_not_mind_what_its_material_says(floor: Floor) -> None:
    make_warm(floor, "30")
    ring_set = floor.read_rings()
    written = {"alpha_ppm": "11.5"}
    with floor.hands.writing() as tx:
        row = add_material(tx, ring_form())
        written["material"] = row.key
        edit_set(tx, ring_set, RingSetForm(written, Unit.INCH, fresh=False))
    floor.set_up()
    change(floor, row, ring_form(alpha_1="12"))
    assert stale(floor.database) == set()


def test_every_material_and_every_source_stand_in_the_tables(
    database: Database, writing: Writing, cast: Cast
) -> None:
    with writing(by=cast.owner) as tx:
        add_material(tx, ring_form())
        add_material(tx, head_form())
    with database.read() as session:
        tables = material_tables(session)
    assert [line.figures.name for line in tables.heads][-1] == "Hollow iron 3"
    assert len(tables.rings) == len(RING_MATERIALS)  # without "not known", with the shop's own
    shown = [
        one
        for line in (*tables.heads, *tables.rings)
        for cell in (*line.expansion, line.modulus, line.strength)
        for one in cell
    ]
    assert all(tables.sources[one.nth - 1] == one.source for one in shown)
    assert {one.nth for one in shown} == set(range(1, len(tables.sources) + 1))
    of_points = sum(len(line.figures.points) for line in (*tables.heads, *tables.rings))
    assert of_points == sum(
        len(cell) for line in (*tables.heads, *tables.rings) for cell in line.expansion
    )
