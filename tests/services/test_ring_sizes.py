"""The size list: one line, a series, a pasted list; nominal sizes, never measured ones."""

from __future__ import annotations

import pytest
from sqlmodel import col, select

from app.calc.units import Length
from app.db import Database
from app.forms.ring_sizes import BlanksForm, OversizesForm, RingSizeForm, SizeFilter
from app.forms.size_lists import SizeListForm
from app.models.event import Event
from app.models.ring_size import RingSize
from app.queries.ring_sizes import known_sizes, size_list, suppliers
from app.services.ring_sizes import (
    add_series,
    add_size,
    bring_back_size,
    import_sizes,
    retire_size,
    update_size,
)
from app.services.write import NotFound, Refused, Write
from app.workflow.kinds import Unit
from tests.services.conftest import Writing

LIST = """supplier,part,od,height,inside,material,unit
Quarry Rings,Q 10,1.635,.250,1.376,tool steel,in
Quarry Rings,Q 20,1.645,.250,1.376,tool steel,in
Quarry Rings,Q 21,large,.250,1.376,tool steel,in
Quarry Rings,Q 22,1.655,.250,1.700,tool steel,in
"""


def one(**raw: str) -> RingSizeForm:
    plain = {"unit": "in", "supplier": "Quarry Rings", "part": "Q 10", "od": "1.635"}
    return RingSizeForm({**plain, "height": ".250", **raw}, unit=Unit.INCH)


def pasted(tx: Write, text: str, **raw: str) -> SizeListForm:
    return SizeListForm(
        {"list": text, "do": "keep", **raw}, unit=Unit.INCH, known=known_sizes(tx.session)
    )


def looked_at(tx: Write, text: str, **raw: str) -> SizeListForm:
    return pasted(tx, text, looked_at=pasted(tx, text).mark, **raw)


def ods(tx: Write) -> list[str]:
    rows = tx.session.exec(select(RingSize.od).order_by(col(RingSize.od)))
    return [od.inches(4) for od in rows]


# One line


def test_a_size_stands_on_the_list_as_it_was_printed(database: Database, writing: Writing) -> None:
    with writing() as tx:
        add_size(tx, one(inside="1.376", material="tool steel", note="by the dozen"))
    with database.read() as session:
        row = session.exec(select(RingSize)).one()
        assert (row.od, row.height, row.inside) == (
            Length.of("1.635"),
            Length.of(".250"),
            Length.of("1.376"),
        )
        assert (row.unit, row.material, row.note) == (Unit.INCH, "tool steel", "by the dozen")
        assert suppliers(session) == ["Quarry Rings"]
        assert session.exec(select(Event.verb)).one() == "put a size on the size list"


def test_the_same_size_of_the_same_seller_stands_once(writing: Writing) -> None:
    with writing() as tx:
        add_size(tx, one())
    with pytest.raises(Refused, match="already") as no, writing() as tx:
        add_size(tx, one(supplier="quarry rings", part="q 10"))
    assert no.value.field == "od"
    with writing() as tx:
        add_size(tx, one(supplier="Mill Pond Seats"))
        add_size(tx, one(height=".312"))


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({"od": ""}, "od"),
        ({"od": "41.5"}, "od"),
        ({"od": "nan"}, "od"),
        ({"inside": "1.635"}, "inside"),
        ({"height": "9"}, "height"),
        ({"unit": "furlong"}, "unit"),
        ({"part": "x" * 61}, "part"),
        ({"note": "two\x00halves"}, "note"),
    ],
)
def test_a_size_that_cannot_be_is_refused_at_its_field(raw: dict[str, str], field: str) -> None:
    assert field in one(**raw).errors


def test_a_size_is_put_right_and_two_people_do_not_overwrite_each_other(writing: Writing) -> None:
    with writing() as tx:
        row = add_size(tx, one())
        version = str(row.row_version)
        update_size(tx, row.id, one(od="1.640", row_version=version))
        tx.session.flush()
        assert row.od == Length.of("1.640")
    with pytest.raises(Refused, match="while your page was open"), writing() as tx:
        update_size(tx, row.id, one(od="1.641", row_version=version))
    with writing() as tx:
        other = add_size(tx, one())
    with pytest.raises(Refused, match="already"), writing() as tx:
        update_size(tx, other.id, one(od="1.640"))


def test_a_size_off_the_list_can_come_back(database: Database, writing: Writing) -> None:
    with writing() as tx:
        row = add_size(tx, one())
        retire_size(tx, row.id)
    with pytest.raises(Refused, match="already"), writing() as tx:
        retire_size(tx, row.id)
    with database.read() as session:
        shown = size_list(session, SizeFilter({}, unit=Unit.INCH))
        assert (shown.found, shown.retired) == (0, 1)
        every = SizeFilter({"also": "retired"}, unit=Unit.INCH)
        assert size_list(session, every).found == 1
    with writing() as tx:
        bring_back_size(tx, row.id)
        retire_size(tx, row.id)
        add_size(tx, one())
    with pytest.raises(Refused, match="put on the list again"), writing() as tx:
        bring_back_size(tx, row.id)
    with pytest.raises(NotFound), writing() as tx:
        retire_size(tx, 99)


# A series


def test_a_base_size_comes_with_its_oversizes(database: Database, writing: Writing) -> None:
    raw = {"unit": "in", "supplier": "Quarry Rings", "od": "1.625", "height": ".250"}
    ticks = {"step_in_0": "yes", "step_in_1": "yes", "step_mm_2": "yes"}
    with writing() as tx:
        add_series(tx, OversizesForm({**raw, **ticks}, unit=Unit.INCH))
    with database.read() as session:
        rows = session.exec(select(RingSize).order_by(col(RingSize.od))).all()
    assert [(row.od.inches(4), row.note) for row in rows] == [
        ("1.6250", "standard"),
        ("1.6300", "+.005 in"),
        ("1.6350", "+.010 in"),
        ("1.6447", "+0.50 mm"),
    ]
    assert {row.height for row in rows} == {Length.of(".250")}


def test_a_series_leaves_what_stands_already(writing: Writing) -> None:
    raw = {"unit": "in", "od": "1.625", "step_in_1": "yes"}
    with writing() as tx:
        add_series(tx, OversizesForm(raw, unit=Unit.INCH))
        add_series(tx, OversizesForm({**raw, "step_in_2": "yes"}, unit=Unit.INCH))
        assert ods(tx) == ["1.6250", "1.6350", "1.6450"]
    with pytest.raises(Refused, match="All of these"), writing() as tx:
        add_series(tx, OversizesForm(raw, unit=Unit.INCH))


def test_blanks_rise_by_fractions_of_an_inch(writing: Writing) -> None:
    raw = {"unit": "in", "least": "1 1/2", "most": "1 9/16", "step": "32", "inside": "1.125"}
    with writing() as tx:
        add_series(tx, BlanksForm(raw, unit=Unit.INCH))
        assert ods(tx) == ["1.5000", "1.5312", "1.5625"]


@pytest.mark.parametrize(
    ("raw", "field"),
    [
        ({"least": "1.5", "most": "1.25", "step": "64"}, "most"),
        ({"least": "1.5", "most": "", "step": "64"}, "most"),
        ({"least": "1.5", "most": "1.75", "step": ""}, "step"),
        ({"least": ".5", "most": "5", "step": "64"}, "step"),
        ({"least": "1.5", "most": "1.75", "step": "64", "inside": "1.6"}, "inside"),
    ],
)
def test_blanks_that_cannot_be_are_refused(raw: dict[str, str], field: str) -> None:
    assert field in BlanksForm({"unit": "in", **raw}, unit=Unit.INCH).errors


def test_a_series_without_a_step_is_asked_for_one() -> None:
    assert "steps" in OversizesForm({"unit": "in", "od": "1.625"}, unit=Unit.INCH).errors


# A pasted list


def test_nothing_of_a_list_is_kept_before_it_was_looked_at(writing: Writing) -> None:
    with pytest.raises(Refused, match="look at it once more"), writing() as tx:
        import_sizes(tx, pasted(tx, LIST))
    with writing() as tx:
        other = looked_at(tx, LIST.replace("1.635", "1.636"))
        changed = pasted(tx, LIST, looked_at=other.mark, without_bad="yes")
        with pytest.raises(Refused, match="look at it once more"):
            import_sizes(tx, changed)
        assert ods(tx) == []


def test_refused_lines_are_named_with_their_number_and_reason(writing: Writing) -> None:
    with writing() as tx:
        form = pasted(tx, LIST)
    assert [line.nth for line in form.good] == [2, 3]
    assert [(line.nth, line.text.split(", ")[1]) for line in form.bad] == [(4, "Q 21"), (5, "Q 22")]
    assert "Outside: 'large'" in form.bad[0].refused
    assert form.bad[1].refused == "Inside: must be smaller than the outside"


def test_the_good_lines_are_kept_once_the_bad_ones_are_left_out(
    database: Database, writing: Writing
) -> None:
    with pytest.raises(Refused) as no, writing() as tx:
        import_sizes(tx, looked_at(tx, LIST))
    assert no.value.field == "bad"
    with writing() as tx:
        import_sizes(tx, looked_at(tx, LIST, without_bad="yes"))
    with database.read() as session:
        rows = session.exec(select(RingSize).order_by(col(RingSize.od))).all()
        assert [(row.part, row.od.inches(3)) for row in rows] == [
            ("Q 10", "1.635"),
            ("Q 20", "1.645"),
        ]
        assert session.exec(select(Event.verb)).all() == ["put a list of sizes on the size list"]


def test_what_is_on_the_list_already_and_what_comes_twice_is_refused(writing: Writing) -> None:
    with writing() as tx:
        add_size(tx, one(inside="1.376"))
        twice = "Quarry Rings,Q 30,1.655,.250,,,in\nQuarry Rings,Q 30,1.655,.250,,,in\n"
        form = pasted(tx, LIST.splitlines()[1] + "\n" + twice)
    assert [(line.nth, line.refused) for line in form.lines] == [
        (1, "stands on the list already"),
        (2, ""),
        (3, "the same as line 2"),
    ]


def test_columns_are_taken_by_their_heading_and_may_be_parted_otherwise(writing: Writing) -> None:
    text = "Outside;Height;Unit;Part number\n34,60;6,35;mm;A 1\n\n34,80;6,35;mm;A 2\n"
    with writing() as tx:
        form = looked_at(tx, text)
        assert [line.nth for line in form.good] == [2, 4]
        import_sizes(tx, form)
        rows = tx.session.exec(select(RingSize).order_by(col(RingSize.od))).all()
        assert [(row.part, row.od.mm(2), row.unit) for row in rows] == [
            ("A 1", "34.60", Unit.MM),
            ("A 2", "34.80", Unit.MM),
        ]


def test_a_decimal_comma_between_commas_is_noticed() -> None:
    text = "a,b,34,60,6,35,28,90,steel,mm\n"
    (line,) = SizeListForm({"list": text}, unit=Unit.MM).lines
    assert "decimal comma" in line.refused


@pytest.mark.parametrize(
    "text", ["", "  \n ", "supplier,part,od\n", "od\n" + "1.5\n" * 1001, "x" * 200_001]
)
def test_a_list_that_is_none_is_refused_as_a_whole(text: str) -> None:
    form = SizeListForm({"list": text}, unit=Unit.INCH)
    assert "list" in form.errors
    assert form.raw["list"] == text


# What is shown of it


def test_the_list_is_narrowed_by_outside_seller_and_part(
    database: Database, writing: Writing
) -> None:
    with writing() as tx:
        for od in ("1.625", "1.635", "1.645"):
            add_size(tx, one(od=od, part=f"Q {od}"))
        add_size(tx, one(supplier="100 % Seats", od="1.640", part=""))

    def shown(**raw: str) -> list[str]:
        with database.read() as session:
            found = size_list(session, SizeFilter(raw, unit=Unit.INCH))
            return [line.od.inches(3) for line in found.lines]

    assert shown() == ["1.625", "1.635", "1.640", "1.645"]
    assert shown(**{"from": "1.630", "to": "1.640"}) == ["1.635", "1.640"]
    assert shown(q="q 1.62") == ["1.625"]
    assert shown(q="%") == ["1.640"]
    assert "from" in SizeFilter({"from": "wide"}, unit=Unit.INCH).errors
    assert "to" in SizeFilter({"from": "1.7", "to": "1.6"}, unit=Unit.INCH).errors
