"""Docstrings of calculations are contracts: units, worked digits, refusals, an outside check."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import re
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

import app.calc

# The record of a calculation writes figures down; none is worked in it.
WITHOUT_CALCULATIONS = {"trace"}
KNOWN_UNITS = {
    "HB",
    *("-", "nm", "nm²", "in", "mm", "K", "°C", "1/K", "°", "rad", "divisions", "speed_unit"),
    *("GPa", "MPa", "Pa", "N", "m", "m/min", "ft/min", "rev/min", "mm³", "1e-5"),
    *("cm³", "inHg", "s"),
}
UNIT_OF_SUFFIX = {
    "_nm": "nm",
    "_nm2": "nm²",
    "_c": "°C",
    "_k": "K",
    "_per_k": "1/K",
    "_deg": "°",
    "_gpa": "GPa",
    "_mpa": "MPa",
    "_n": "N",
    "_inhg": "inHg",
    "_cm3": "cm³",
}
MODULES: dict[str, ModuleType] = {
    found.name: importlib.import_module(f"app.calc.{found.name}")
    for found in pkgutil.iter_modules(app.calc.__path__)
}
FUNCTIONS: dict[str, Callable[..., Any]] = {
    f"{module_name}.{name}": function
    for module_name, module in MODULES.items()
    if module_name not in WITHOUT_CALCULATIONS
    for name, function in inspect.getmembers(module, inspect.isfunction)
    if not name.startswith("_") and function.__module__ == module.__name__
}


@cache
def named_checks() -> dict[str, str]:
    """Function name to outside source, over every test module beside this one."""
    found: dict[str, str] = {}
    for path in sorted(Path(__file__).parent.glob("test_*.py")):
        if path.name != Path(__file__).name:
            module = importlib.import_module(f"tests.calc.{path.stem}")
            found.update(getattr(module, "CHECKS", {}))
    return found


def section(doc: str, title: str) -> str:
    """The lines under one underlined title, up to the next one or the examples."""
    match = re.search(
        rf"^{title}\n-+\n(.*?)(?=^\w[^\n]*\n-{{3,}}$|^>>>|\Z)", doc, re.DOTALL | re.MULTILINE
    )
    return match[1] if match else ""


def units_given(function: Callable[..., Any]) -> dict[str, str]:
    """Argument to the unit in brackets that ends its entry; empty when there is none."""
    found: dict[str, str] = {}
    entries = re.split(
        r"^(?=\w+(?:, \w+)* : )",
        section(inspect.getdoc(function) or "", "Parameters"),
        flags=re.MULTILINE,
    )
    for entry in filter(str.strip, entries):
        unit = re.search(r"\[([^\[\]]+)\]\s*\Z", entry)
        for name in entry.split(" : ")[0].split(", "):
            found[name.strip()] = unit[1] if unit else ""
    return found


def all_functions() -> pytest.MarkDecorator:
    return pytest.mark.parametrize("function", FUNCTIONS.values(), ids=FUNCTIONS.keys())


@all_functions()
def test_every_argument_has_its_unit_in_brackets(function: Callable[..., Any]):
    given = units_given(function)
    arguments = list(inspect.signature(function).parameters)
    assert [name for name in arguments if not given.get(name)] == []
    assert [name for name in given if name not in arguments] == []
    assert [unit for unit in given.values() if unit not in KNOWN_UNITS] == []


@all_functions()
def test_units_agree_with_the_arguments_name_and_type(function: Callable[..., Any]):
    given = units_given(function)
    for name, argument in inspect.signature(function).parameters.items():
        suffix = max(filter(name.endswith, UNIT_OF_SUFFIX), key=len, default="")
        if suffix:
            assert given[name] == UNIT_OF_SUFFIX[suffix], name
        elif re.search(r"\bLength\b", str(argument.annotation)):
            assert given[name] == "nm", name


@all_functions()
def test_every_calculation_shows_worked_digits(function: Callable[..., Any]):
    examples = doctest.DocTestParser().get_examples(inspect.getdoc(function) or "")
    assert any(example.want for example in examples)


@all_functions()
def test_a_calculation_that_refuses_says_when(function: Callable[..., Any]):
    if re.search(r"^\s+raise \w", inspect.getsource(function), re.MULTILINE):
        assert section(inspect.getdoc(function) or "", "Raises").strip()


@all_functions()
def test_every_calculation_names_an_outside_check(function: Callable[..., Any]):
    assert named_checks().get(function.__name__, "").strip(), (
        f"name the source under CHECKS in a module of tests/calc: {function.__name__}"
    )


@pytest.mark.parametrize("name", MODULES)
def test_the_worked_digits_are_right(name: str):
    assert doctest.testmod(MODULES[name]).failed == 0


def test_checks_name_calculations_that_exist_and_each_only_one():
    names = Counter(function.__name__ for function in FUNCTIONS.values())
    assert [name for name in named_checks() if name not in names] == []
    assert [name for name, count in names.items() if count > 1] == []


def test_there_are_calculations_to_look_at():
    assert {"verify.verify", "overcut.overcut", "units.parse_length"} <= set(FUNCTIONS)


def test_a_missing_unit_and_an_unknown_argument_are_seen():
    def lacking(*, bore: int, depth: int) -> int:
        """Nothing.

        Parameters
        ----------
        bore : int
            no unit here
        depth : int
            with one, after a window [a, b] in the text [nm]
        """
        return bore + depth

    assert units_given(lacking) == {"bore": "", "depth": "nm"}
