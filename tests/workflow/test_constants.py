"""The whole register: constants of the way of working, shop rules over defaults, every source."""

from __future__ import annotations

import ast
import importlib
import pkgutil
from pathlib import Path

import pytest

import app.workflow
from app.calc import sources
from app.calc.constants import CONSTANTS as OF_CALCULATIONS
from app.calc.sources import Source
from app.calc.units import Length
from app.workflow.constants import CONSTANTS
from app.workflow.shop_rule import RuleKind
from app.workflow.shop_rules import RULES
from tests.calc.test_constants import all_sources, holds_a_number, names_set

WORKFLOW = Path(app.workflow.__file__).parent
APP = WORKFLOW.parent
# Figures that no size, fit or verdict rests on.
NO_FIGURES = {
    "folding.FEWEST_DIGITS": "searching",
    "folding.LONGEST_KEY": "searching",
    "gate_table.GATE_VERSION": "a version",
    "heat_cases.DEFAULT_CASES": "the calculations' cases, which are registered there",
    "heat_cases._ASSUMED": "the calculations' cases, which are registered there",
    "job_words.MOST_TYPED": "searching",
    "layout.FEWEST_VALVES": "how a head may be laid out",
    "layout.MOST_CYLINDERS": "how a head may be laid out",
    "layout.MOST_ROWS": "how a head may be laid out",
    "layout.MOST_VALVES": "how a head may be laid out",
    "overcut_advice._WEIGHT": "which of two signs is told first",
    "periods.MOST_MONTHS": "how long a table is",
    "status.ENDED": "an order",
    "status.LATE": "an order",
    "status.ON_HOLD": "an order",
    "status.READY": "an order",
    "status.UNDER_WAY": "an order",
    "status.WAITING": "an order",
    "shop_rule_table.RULES": "stands on the page as shop rules",
    "shop_rule_table._CAUTION_RULES": "stands on the page as shop rules",
}
RULE_TABLES = {path.stem for path in WORKFLOW.glob("*_rules.py")} - {"shop_rules"}
NO_FIGURES |= {f"{name}.{name.upper()}": "stands on the page as shop rules" for name in RULE_TABLES}
SIGNING_IN = "sign_in"  # digits and waits, no sizes
MODULES = [
    found.name
    for found in pkgutil.iter_modules(app.workflow.__path__)
    if found.name not in ("constants", SIGNING_IN)
]
REGISTERED = {name for one in CONSTANTS[len(OF_CALCULATIONS) :] for name in one.stands_in}


def numbers_of(module: str) -> set[str]:
    found = importlib.import_module(f"app.workflow.{module}")
    code = (WORKFLOW / f"{module}.py").read_text(encoding="utf-8")
    return {f"{module}.{name}" for name in names_set(code) if holds_a_number(getattr(found, name))}


@pytest.mark.parametrize("module", MODULES)
def test_every_constant_of_the_way_of_working_is_on_the_page_of_sources(module: str) -> None:
    unseen = numbers_of(module) - REGISTERED - set(NO_FIGURES)
    assert not unseen, (
        f"{sorted(unseen)}: register it in app/workflow/constants.py with value, source and where "
        "it is used; or say in NO_FIGURES why no size, fit or verdict rests on it"
    )


def test_what_is_registered_or_left_out_exists() -> None:
    numbers = {name for module in MODULES for name in numbers_of(module)}
    assert REGISTERED - numbers == set()
    assert set(NO_FIGURES) - numbers == set()


def test_every_source_has_something_that_rests_on_it() -> None:
    resting = {one.source.key for one in CONSTANTS}
    unused = [name for name, one in all_sources().items() if one.key not in resting]
    assert unused == [], "name in a register what rests on it, or take the source out"


def test_every_source_is_named_where_something_is_worked() -> None:
    """The rows of the page alone do not keep a source in use."""
    named: set[str] = set()
    for path in APP.rglob("*.py"):
        if path == Path(sources.__file__) or path.stem.endswith("constants"):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module == "app.calc.sources":
                named |= {alias.name for alias in node.names}
    by_the_rows_alone = {name for name in all_sources() if name not in named}
    # Ranges of what may be typed, definitions, and choices name no source where they stand.
    assert by_the_rows_alone == {"KELVIN", "PLAUSIBLE", "READING_HABIT"} | {
        *("CHOSEN_HERE", "FALSE_SIGNS")
    }


@pytest.mark.parametrize("key", sorted({one.rule for one in CONSTANTS} - {""}))
def test_a_shop_rule_over_a_constant_starts_from_it(key: str) -> None:
    rule = RULES[key]
    over = [one for one in CONSTANTS if one.rule == key]
    if rule.kind is RuleKind.LENGTH:
        assert [Length.of(one.value) for one in over] == [Length.of(*rule.default.split())]
    elif rule.kind is RuleKind.NUMBER:
        assert {one.value for one in over} == {rule.default}
    else:
        assert len(over) > 1  # one row for each choice


def test_a_source_is_known_by_more_than_its_words() -> None:
    assert all(isinstance(one.source, Source) for one in CONSTANTS)
    names = [one.name for one in CONSTANTS]
    assert len(set(names)) == len(names)
