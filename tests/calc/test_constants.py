"""No figure works unseen: every constant and every source is on the page of sources."""

from __future__ import annotations

import ast
import importlib
import pkgutil
from collections import Counter
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

import app.calc
from app.calc import sources
from app.calc.constants import CONSTANTS
from app.calc.plain_sources import PLAIN_SOURCES
from app.calc.sources import Source
from app.calc.trace import Calculation
from app.calc.units import Length

CALC = Path(app.calc.__file__).parent
MODULES = [found.name for found in pkgutil.iter_modules(app.calc.__path__)]

# What is no figure of the trade: units, noughts, places shown, bounds of work.
NO_FIGURES = {
    "capability.Z_95": "the normal distribution's own",
    "gum.AS_GOOD_AS_INFINITE": "from here on Student's factor is the normal one to four digits",
    "hot_expansion.ROOM_TABLE_TO_C": "what tables mean by room temperature; stands in their rows",
    "hot_expansion._HEAD_HIGHER": "stands in HEAD_POINTS",
    "hot_expansion._RING_HIGHER": "stands in RING_POINTS",
    "interference_scale.WINDOW_FROM": "a place on a drawing",
    "interference_scale.WINDOW_TO": "a place on a drawing",
    "measurement_error.NOTHING": "nought",
    "press_fit.MPA_PER_GPA": "a unit",
    "quantities.LENGTH_RANGES": "the ranges above it, by field",
    "quantities.NUMBER_RANGES": "the ranges above it, by field",
    "seat_valve.NM3_PER_MM3": "a unit",
    "seat_valve.NOTHING": "nought",
    "shown.MORE_PLACES": "places shown",
    "spindle.NM_PER_SPEED_UNIT": "units",
    "stabbing.MOST_WORK": "how long a plan may take",
    "stiffness.DUCTILE_IRON": "stands in HEAD_STIFFNESS and RING_STIFFNESS",
    "stiffness.GREY_IRON": "stands in HEAD_STIFFNESS and RING_STIFFNESS",
    "uncertainty.NONE": "nought",
    "units.LONGEST_TEXT": "letters of a typed length",
    "wanted_ring.ONE_NM": "the step that lengths are rounded to",
}
TABLES_OF_ROWS = {
    "constants",
    "cutting_constants",
    "fit_constants",
    "material_constants",
    "plain_sources",
}


def holds_a_number(value: Any) -> bool:
    """Whether a figure stands anywhere in a value."""
    if isinstance(value, bool | str | Enum | Calculation | Source):
        return False
    if isinstance(value, int | float | Fraction | Length):
        return True
    if isinstance(value, Mapping):
        return any(holds_a_number(one) for one in value.values())
    if isinstance(value, list | tuple | set | frozenset):
        return any(holds_a_number(one) for one in value)
    if is_dataclass(value) and not isinstance(value, type):
        return any(holds_a_number(getattr(value, field.name)) for field in fields(value))
    return False


def names_set(code: str) -> set[str]:
    """Upper-case names that a module sets itself, at its top."""
    found: set[str] = set()
    for node in ast.parse(code).body:
        targets = node.targets if isinstance(node, ast.Assign) else []
        targets += [node.target] if isinstance(node, ast.AnnAssign) else []
        for target in targets:
            found |= {one.id for one in ast.walk(target) if isinstance(one, ast.Name)}
    return {name for name in found if name.lstrip("_").isupper()}


def numbers_of(module: str) -> set[str]:
    """``module.NAME`` of every constant of a module that holds a figure."""
    found = importlib.import_module(f"app.calc.{module}")
    code = (CALC / f"{module}.py").read_text(encoding="utf-8")
    return {f"{module}.{name}" for name in names_set(code) if holds_a_number(getattr(found, name))}


REGISTERED = {name for one in CONSTANTS for name in one.stands_in}


@pytest.mark.parametrize("module", [name for name in MODULES if name not in TABLES_OF_ROWS])
def test_every_constant_of_a_calculation_is_on_the_page_of_sources(module: str) -> None:
    unseen = numbers_of(module) - REGISTERED - set(NO_FIGURES)
    assert not unseen, (
        f"{sorted(unseen)}: register it in app/calc/constants.py or the module of its topic, "
        "with value, source and where it is used; or say in NO_FIGURES why it is no figure"
    )


def test_what_is_registered_or_left_out_exists_and_is_not_both() -> None:
    numbers = {name for module in MODULES for name in numbers_of(module)}
    assert REGISTERED - numbers == set()
    assert set(NO_FIGURES) - numbers == set()
    assert set(NO_FIGURES) & REGISTERED == set()


def test_a_constant_that_is_not_registered_is_seen() -> None:
    assert names_set("DEAD = Length.of('.1')\n_LOW: int = 3\nA, B = 1, 2\nx = 4\n") == {
        *("DEAD", "_LOW", "A", "B")
    }
    assert holds_a_number({"a": (Length(1), "b")})
    assert holds_a_number([Fraction(1, 2)])
    assert not holds_a_number({"a": "12", "b": Calculation("ring", 1)})


def test_a_table_is_shown_row_by_row() -> None:
    rows = Counter(name for one in CONSTANTS for name in one.stands_in)
    assert rows["rules.DEFAULT_RULES"] == 9
    assert rows["materials.RING_MATERIALS"] == 9
    assert rows["running_fit.IRON_EXHAUST"] == 4
    assert rows["quantities.DIAMETER"] == 1


def test_figures_are_those_that_are_worked_with() -> None:
    shown = {one.name: f"{one.value} {one.unit}" for one in CONSTANTS}
    assert shown["an inch"] == "25.4 mm"
    assert shown["leave the cutter alone within ±"] == ".0002 in (0.0051 mm)"
    assert shown["head, aluminium: mean expansion from 20 to 100 °C"] == "21.5 1e-6/K"
    assert shown["grey iron, ring OD 1.25 up to 2.00 in"] == (
        ".0030 / .0040 / .0050 in, least / aim / most"
    )
    assert shown["aluminium, exhaust: overheated"] == "250 / 250 °C, ring / head at the bore"
    assert shown["plausible for an interference"] == "0 to 1 mm"
    assert shown["guard band, ISO 14253-1:2017"] == "0.83 of U"


def test_every_row_has_its_own_name_a_value_and_a_place_where_it_is_used() -> None:
    names = Counter(one.name for one in CONSTANTS)
    assert [name for name, count in names.items() if count > 1] == []
    assert all(one.value and one.used for one in CONSTANTS)


def all_sources() -> dict[str, Source]:
    return {name: one for name, one in vars(sources).items() if isinstance(one, Source)}


def test_a_key_and_a_text_lead_back_to_one_source() -> None:
    found = all_sources().values()
    assert len({one.key for one in found}) == len(found)
    assert len({one.cited for one in found}) == len(found)


def literal_sources() -> set[str]:
    """Every source that a step of a calculation says in words of its own."""
    found: set[str] = set()
    for path in [*CALC.glob("*.py"), *(CALC.parent / "worksheets").glob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("Step", "Part"):
                nth = 4 if node.func.id == "Step" else 3  # type: ignore[attr-defined]
                said = [word.value for word in node.keywords if word.arg == "source"]
                said += node.args[nth : nth + 1]
                found |= {
                    one.value
                    for expression in said
                    for one in ast.walk(expression)
                    if isinstance(one, ast.Constant)
                    and isinstance(one.value, str)
                    # A part of a text that is put together is told from its start.
                    and not isinstance(expression, ast.JoinedStr)
                    # The key of a shop rule is no text.
                    and not isinstance(expression, ast.Call)
                }
    return found - {""}


def test_what_a_line_says_without_a_source_is_told_on_the_page_too() -> None:
    said = literal_sources()
    assert {"difference", "as read", "D − I"} <= said
    untold = [text for text in said if not any(one.is_said_by(text) for one in PLAIN_SOURCES)]
    assert untold == [], "say in app/calc/plain_sources.py of what sort such a line is"


def test_a_formula_with_figures_in_it_is_told_by_how_it_begins() -> None:
    found = [
        one.key for one in PLAIN_SOURCES if one.is_said_by("OD − rule, less U .0002 + r .0001")
    ]
    assert found == ["worked"]
