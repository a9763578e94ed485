"""Figures as they hold in this shop: constants, windows, heat cases, materials, shop rules."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from sqlmodel import Session, select

from app.calc.constant import Constant, Section
from app.calc.gauge import shown_ppm
from app.calc.sources import Mark
from app.models.heat_case import HeatCase
from app.models.person import Person
from app.queries.interference_rules import BandLine, band_lines
from app.queries.shop_rules import RuleLine
from app.workflow.constants import CONSTANTS
from app.workflow.folding import folded
from app.workflow.heat_cases import HeldCase, default_case
from app.workflow.shop_rule import RuleGroup, RuleKind
from app.workflow.words import Kind
from app.worksheets.heat_cases import combined, metal_of, newest_rows
from app.worksheets.interference import band_words
from app.worksheets.materials import every_material, own_figures

_NO_LIMITS = {"warranty_text"}


@dataclass(frozen=True)
class Figure:
    """One row: a figure, its mark and source; `instead` is the default that a shop's own covers."""

    name: str
    value: str
    unit: str
    mark: Mark
    source: str
    used: str
    key: str = ""  # of a source on the page
    href: str = ""  # where it can be looked at, and changed by an owner
    instead: str = ""
    by: str = ""
    at: datetime | None = None
    nth: int = 0  # its place on the page
    rule: RuleLine | None = None  # the shop rule that stands over it

    def is_found(self, mark: Mark | None, wanted: str) -> bool:
        """Whether it has the mark and every word that is looked for."""
        if mark is not None and self.mark is not mark:
            return False
        rule = f"{self.rule.shown} {self.rule.source}" if self.rule else ""
        parts = (self.name, self.value, self.unit, self.mark.value, self.source, self.used, rule)
        text = folded(" ".join(parts))
        return all(word in text for word in folded(wanted).split())


def figures_of_section(
    session: Session, section: Section, rules: Mapping[str, RuleLine], unit: str
) -> Iterable[Figure]:
    """The rows of one section: the shop's own over the defaults that they cover."""
    constants = [one for one in CONSTANTS if one.section is section]
    if section is Section.INTERFERENCE:
        yield from _bands(band_lines(session), constants, unit)
        constants = [one for one in constants if not _is_band(one)]
    if section is Section.HEAT:
        yield from _cases(session, constants)
        constants = [one for one in constants if not _is_case(one)]
    for one in constants:
        yield _figure(one, rules.get(one.rule))
    if section is Section.MATERIALS:
        yield from _own_materials(session)


def _figure(one: Constant, rule: RuleLine | None = None) -> Figure:
    return Figure(
        name=one.name,
        value=one.value,
        unit=one.unit,
        mark=one.source.mark,
        source=one.source.text,
        used=one.used,
        key=one.source.key,
        rule=rule,
    )


# Interference


def _is_band(one: Constant) -> bool:
    return "rules.DEFAULT_RULES" in one.stands_in


def _bands(lines: Iterable[BandLine], constants: Iterable[Constant], unit: str) -> Iterable[Figure]:
    """The windows that hold; one of the shop's own says what the default would be."""
    defaults = {one.name: one for one in constants if _is_band(one)}
    for line in lines:
        default = defaults.get(line.rule.words)
        if line.row is None:
            if default is not None:
                yield _figure(default)
            continue
        fit = line.rule.interference
        band = band_words(line.rule.od_from, line.rule.od_below, unit)
        yield Figure(
            name=f"{line.material.screen}, {band}",
            value=" / ".join(size.shown(unit) for size in (fit.least, fit.aim, fit.most)),
            unit=f"{unit}, least / aim / most",
            mark=Mark.ENTERED,
            source=line.rule.source,
            used="ring set, target, verdict",
            href="/shop-rules#interference",
            instead=_told(default),
            by=line.by or "",
            at=line.row.at,
        )


def _told(default: Constant | None) -> str:
    if default is None:
        return ""
    return f"{default.value} {default.unit} ({default.source.mark.value})"


# Heat cases


def _is_case(one: Constant) -> bool:
    return any(name.startswith("running_fit.") for name in one.stands_in)


def _cases(session: Session, constants: Iterable[Constant]) -> Iterable[Figure]:
    """The cases that hold; one of the shop's own says what was assumed."""
    defaults = {one.name: one for one in constants if _is_case(one)}
    rows = newest_rows(session)
    versions = {row.id: row for row in rows}
    people = _people(session) if rows else {}
    held: set[str] = set()
    for (metal, kind), cases in combined(rows).items():
        for case in cases:
            assumed = default_case(metal, kind, case.key)
            default = (
                defaults.get(f"{metal.screen}, {kind.screen}: {assumed.name}") if assumed else None
            )
            if default is not None:
                held.add(default.name)
            if case.row_id is None and default is not None:
                yield _figure(default)
            elif case.row_id is not None:
                version = versions[case.row_id]
                yield _own_case(version, kind, case, default, people.get(version.by_id, ""))
    for name, default in defaults.items():
        if name not in held:
            yield replace(_figure(default), used="out of the look in this shop")


def _own_case(
    row: HeatCase, kind: Kind, case: HeldCase, default: Constant | None, by: str
) -> Figure:
    metal = metal_of(row)
    return Figure(
        name=f"{metal.screen}, {kind.screen}: {case.name}",
        value=f"{case.ring_c} / {case.head_c}",
        unit="°C, ring / head at the bore",
        mark=Mark.ENTERED,
        source=case.source,
        used="fit in heat: ring set, setting, cut and gauge",
        href=f"/shop-rules/heat-cases/{metal.value}/{kind.value}/{case.key}",
        instead=_told(default),
        by=by,
        at=row.at,
    )


def _people(session: Session) -> dict[int, str]:
    return {person.id: person.name for person in session.exec(select(Person))}


# Materials


def _own_materials(session: Session) -> Iterable[Figure]:
    rows = [row for row in every_material(session) if not row.is_retired]
    people = _people(session) if rows else {}
    for row in rows:
        own = own_figures(row, row.family)
        told = [
            (f"mean expansion from 20 to {one.to_c} °C", shown_ppm(one.alpha_per_k), "1e-6/K")
            for one in own.points
        ]
        if own.stiffness is not None:
            told.append(("modulus", f"{own.stiffness.elastic.e_gpa:g}", "GPa"))
            told.append(("Poisson's ratio", f"{own.stiffness.elastic.nu:g}", ""))
        if own.strength is not None:
            told.append((own.strength.kind.value, f"{own.strength.low_mpa:g}", "MPa"))
        for words, value, of in told:
            yield Figure(
                name=f"{row.material_of.value}, {row.name}: {words}",
                value=value,
                unit=of,
                mark=Mark.ENTERED,
                source=row.source,
                used="ring and bore away from 20 °C, fit in heat, pressed ring",
                href=f"/materials/{row.key}",
                by=people.get(row.by_id, ""),
                at=row.at,
            )


# Shop rules


def rule_figures(lines: Mapping[RuleGroup, Iterable[RuleLine]]) -> Iterable[Figure]:
    """Every limit as it holds; cautions and terms are words of the shop, no figures."""
    for group, of_group in lines.items():
        if group is RuleGroup.CAUTION:
            continue
        for line in of_group:
            rule = line.rule
            if rule.key in _NO_LIMITS:
                continue
            has_unit = rule.kind is RuleKind.NUMBER
            is_own = line.at is not None
            default = f"{rule.default} {rule.unit}".rstrip()
            yield Figure(
                name=rule.words,
                value=line.value if has_unit else line.shown,
                unit=rule.unit if has_unit else "",
                mark=Mark.ENTERED if is_own else rule.mark,
                source=line.source if is_own else rule.source,
                used=rule.used,
                href=f"/shop-rules/{rule.key}",
                instead=f"{default} ({rule.mark.value})" if is_own else "",
                by=line.by or "",
                at=line.at,
            )
