"""The office's figures as pages and as files."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from app.calc.units import Length
from app.queries.figure_views import Column, Histogram, Holds, Row, Span, Spans
from app.queries.spreadsheet import as_csv
from app.web.drawing.figure_pictures import histogram_picture, span_picture
from app.web.routes.figures import FIGURES

SignedInAs = Callable[[str], TestClient]


@pytest.mark.parametrize("key", FIGURES)
def test_each_figure_has_its_count_its_definition_and_a_file(
    signed_in_as: SignedInAs, key: str
) -> None:
    owner = signed_in_as("owner")
    page = owner.get(f"/figures/{key}?from=2026-01&to=2026-03")
    assert page.status_code == 200
    assert "What it shows" in page.text
    assert '<span class="fig">0</span>' in page.text.split('class="lead"')[1][:120]
    file = owner.get(f"/figures/{key}/csv?from=2026-01&to=2026-03")
    assert file.headers["content-type"] == "text/csv; charset=utf-8"
    assert f'filename="{key}-2026-01-to-2026-03.csv"' in file.headers["content-disposition"]
    assert file.content.startswith(b"\xef\xbb\xbf")


def test_only_the_owner_sees_figures(signed_in_as: SignedInAs) -> None:
    assert signed_in_as("machinist").get("/figures/first-time").status_code == 403
    assert "/figures" not in signed_in_as("machinist").get("/office").text
    assert 'href="/figures"' in signed_in_as("owner").get("/office").text


def test_a_period_that_cannot_be_read_is_the_last_twelve_months(signed_in_as: SignedInAs) -> None:
    page = signed_in_as("owner").get("/figures/days?from=2026-13&to=x").text
    chosen = [part for part in page.split("<li>") if 'aria-current="true"' in part]
    assert any("12 months" in part for part in chosen)


def test_no_text_of_a_table_is_a_formula_and_lengths_stand_in_both_units() -> None:
    columns = (Column("Lot"), Column("Mean", Holds.LENGTH, 4), Column("Share", Holds.SHARE))
    rows = (
        Row(("=1+1", Length.of("-.0004"), 0.5)),
        Row((' @sum, "x"', None, None)),
    )
    lines = as_csv(columns, rows).splitlines()
    assert lines == [
        "Lot,Mean (in),Mean (mm),Share",
        "'=1+1,-0.0004,-0.0102,0.5000",
        '"\' @sum, ""x""",,,',
    ]


def test_a_line_of_too_few_cases_is_named_and_not_drawn() -> None:
    drawn = span_picture(
        Spans("s", "share", (Span("Jan", "3 of 4", None), Span("Feb", "24 of 25", 0.96, 0.8, 1.0))),
        "in",
    )
    jan, feb = drawn.lines
    assert (jan.mark, jan.reach, jan.note) == ("", None, "3 of 4")
    assert feb.reach is not None
    assert drawn.ticks[-1].text == "100 %"


def test_staves_are_as_tall_as_their_counts() -> None:
    step = Length.of(".0001")
    drawn = histogram_picture(
        Histogram(
            "h",
            ((Length(0), 10), (step, 5)),
            step,
            Length.of("-.001"),
            Length.of(".001"),
        ),
        "in",
    )
    tall, half = drawn.staves
    assert tall.height == 2 * half.height
    assert [tick.text for tick in drawn.ticks] == ["-.0010", ".0000", "+.0010"]
