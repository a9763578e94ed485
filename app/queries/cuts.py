"""Gathering the cut page of one position: what stands in the way, what to cut, what it gauged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from sqlmodel import Session, col, func, select

from app.calc.units import Length
from app.models.crib import Instrument, Machine
from app.models.head import Head, Port
from app.models.job import Job
from app.models.person import Person
from app.models.port_pass import Cut, CutOpening
from app.models.reading import ReadingSet
from app.queries.bore_readings import bore_cells, comparator_of, read_with_last
from app.queries.cut_view import ELSEWHERE, HEAD_OFF, LAPSED, CutView, Opened, SettingOnPage
from app.queries.drift import overcut_line
from app.queries.shop_rules import current_rules
from app.workflow.cautions import CUTTING, is_beryllium
from app.workflow.gates import Gate, open_points
from app.workflow.kinds import InstrumentKind, ResultKind, SettingState
from app.workflow.requirements import AskedPoint
from app.workflow.settings import Refusal, told_neighbours
from app.workflow.shop_rules import ShopRules
from app.workflow.words import Work, listed
from app.worksheets.corrections import Advice, advice_for
from app.worksheets.cutting import (
    ClampedUp,
    Stop,
    clamped_up,
    confirm_needed,
    is_open,
    port_name,
    refusal_for,
    replacement,
    setting_name,
    stale_of,
    standing_now,
    stop_for,
)
from app.worksheets.facts import HeadSheet, bore_since_cut, load_sheet, shop_zone
from app.worksheets.fits import Fit, fit_at, fits_sources
from app.worksheets.gauges_today import DIVISION, Warmth, bore_today
from app.worksheets.guides import worn_words
from app.worksheets.head_rows import PortRows
from app.worksheets.heats import warm_words
from app.worksheets.pockets import pocket_findings
from app.worksheets.settings import NamedPort, SettingRows, load_setting
from app.worksheets.spindle import spindle_hint
from app.worksheets.verifications import Proof, depth_wanted, prove

__all__ = ["CutView", "cut_view"]

_OF_POCKET = {ResultKind.CLEAN_UP, ResultKind.WALL_WEB}


# Faces of the page from which metal is still to come off.
BEFORE_THE_CUT = ("no_setting", "shut", "not_clamped", "lapsed", "no_stop", "ready")
# Faces of the page where the ring, its bore and the figures are at hand.
TELLS_OF_THE_FIT = ("ready", "gauging", "first_pass", "corrected", "proved", "ring_in")


def cut_view(
    session: Session,
    found: tuple[Job, Head, Port],
    *,
    person_id: int,
    at: datetime,
    setting_id: int | None = None,
) -> CutView:
    """Gather the page for one person at one moment; `setting_id` is the one they came with."""
    job, head, port = found
    rules = current_rules(session)
    sheet = load_sheet(session, head)
    rows = sheet.rows.port(port.id)
    now = clamped_up(session, head.id)
    own = rows.setting.id if rows.setting else None
    wanted = setting_id or own
    setting = load_setting(session, wanted) if wanted else None
    new = replacement(session, rows, setting) if setting else None
    replaced = ""
    if setting is not None and new is not None and (rows.cut is not None or is_open(rows)):
        # Past the refusal that an old link gets: the position goes on by the setting it was cut by.
        replaced, setting = setting_name(setting.setting), new
    gathered = _Gathering(session, job, head, port, sheet, rows, now, setting, rules, person_id, at)
    return replace(gathered.view(), replaced=replaced)


@dataclass
class _Gathering:
    session: Session
    job: Job
    head: Head
    port: Port
    sheet: HeadSheet
    rows: PortRows
    now: ClampedUp | None
    setting: SettingRows | None
    rules: ShopRules
    person_id: int
    at: datetime

    def view(self) -> CutView:
        turned = self.now.turned if self.now else 0
        heads = self._heads()
        proof = prove(self.session, self.sheet, self.rows, self.rules)
        readings = bore_since_cut(self.rows)
        last = read_with_last(self.session, self.person_id, self.at, readings)
        comparator = comparator_of(
            self.session,
            last.with_instrument_id if last else None,
            last.zeroed_on if last else None,
        )
        cells, lower = (
            bore_cells(self.session, self.rows, self.job.unit, comparator)
            if self.port.work is Work.RING
            else ((), ())
        )
        stale = stale_of(self.rows, self.sheet)
        shown: dict[str, object] = {
            "job": self.job,
            "head": self.head,
            "port": self.port,
            "sheet": self.sheet,
            "rows": self.rows,
            "beside": told_neighbours(self.sheet.facts, self.port.label, turned),
            "turned": turned,
            "clamp_up": self.now.clamp_up if self.now else None,
            "machine": self._machine(),
            "setting": self._on_page(heads),
            "stop": self._stop(),
            "readings": readings,
            "cells": cells,
            "lower": lower,
            "proof": proof,
            "stale": stale,
            "pocket_now": self._pocket_now() if _OF_POCKET & {each.kind for each in stale} else "",
            "instruments": self._instruments(),
            "read_with": last,
            "opened": self._opened(),
            "name": port_name(self.head, self.port.label, heads).told,
            "uncentred": self._uncentred(),
            "cautions": tuple(self.rules.caution(key) for key in self._hazards()),
            **self._figures(last),
        }
        state = self._state(heads, turned)
        if state["state"] == "gauging":
            shown["warm"] = warm_words(self.session, self.sheet)
        if state["state"] in BEFORE_THE_CUT:
            shown["guide_worn"] = worn_words(self.rows, self.rules, self.job.unit.value)
        if state["state"] in TELLS_OF_THE_FIT:
            shown["fit"] = self._fit(proof)
        if state["state"] == "proved" and self.setting is not None:
            shown["tip"] = overcut_line(
                self.session, self.setting.cutter.id, self.head.material, self.job.unit.value
            )
        return CutView(**(shown | state))  # type: ignore[arg-type]

    def _hazards(self) -> tuple[str, ...]:
        """The spindle and what it throws; beryllium copper where the new ring is made of it."""
        target = self.sheet.targets.get(self.port.id)
        material = target.set_working.material if target and target.set_working else None
        if material is not None and is_beryllium(f"{material.name} {material.family}"):
            return (*CUTTING, "beryllium_copper")
        return CUTTING

    # Which face

    def _state(self, heads: int, turned: int) -> dict[str, object]:
        rows = self.rows
        if self.port.work is not Work.RING and self.setting is None:
            return {"state": "no_ring"}
        if rows.ring_in is not None:
            return {"state": "ring_in"}
        if rows.hold is not None:
            return {"state": "on_hold"}
        came_with_another = (
            self.setting is not None
            and rows.setting is not None
            and self.setting.setting.id != rows.setting.id
        )
        if not came_with_another:
            if is_open(self.rows):
                return {"state": "gauging"}
            after = self._after_the_cut()
            if after is not None:
                return after
        return self._before_the_cut(heads, turned)

    def _after_the_cut(self) -> dict[str, object] | None:
        rows, cut = self.rows, self.rows.cut
        if cut is None:
            return None
        if not cut.is_first_pass:
            facts = self.sheet.facts.port(rows.label)
            state = "proved" if facts.verdict is not None else "gauging"
            return {"state": state, "advice": self._advice()}
        setting = self.setting
        newest = setting.adjustment if setting else None
        if setting is None or newest is None:
            return None
        if setting.setting.under_by.nm > 0 and newest.id == cut.setting_adjustment_id:
            return {"state": "first_pass", "advice": self._advice()}
        if setting.setting.state is SettingState.READY:
            return {"state": "corrected"}
        return None

    def _before_the_cut(self, heads: int, turned: int) -> dict[str, object]:
        rows, setting = self.rows, self.setting
        if setting is None:
            return {"state": "no_setting", "shut": self._shut()}
        refusal = refusal_for(self.session, self.sheet, rows, setting, heads=heads, turned=turned)
        names = setting.named(self.port.id) is not None
        if refusal is not None and not names:
            return self._refused(refusal, None)
        target = self.sheet.rows.accepted.of_pass(
            rows.port_pass.id if rows.port_pass else None, ResultKind.TARGET
        )
        if target is not None and not target.stands:
            return {"state": "stale"}
        shut = self._shut()
        if shut:
            return {"state": "shut", "shut": shut}
        if refusal is not None:
            return self._refused(refusal, setting.setting.id)
        warm = warm_words(self.session, self.sheet)
        if warm:
            return {"state": "warm", "warm": warm}
        if self.now is None:
            return {"state": "not_clamped"}
        standing = standing_now(
            self.session,
            setting,
            person_id=self.person_id,
            clamp_up_id=self.now.clamp_up.id,
            at=self.at,
            zone=shop_zone(self.session),
        )
        if standing is not None and not standing.is_live:
            return {"state": "lapsed", "standing": standing}
        stop = self._stop()
        if stop is None or stop.stop is None or stop.refused:
            return {"state": "no_stop"}
        confirm = confirm_needed(
            self.session,
            clamp_up=self.now.clamp_up,
            setting_id=setting.setting.id,
            person_id=self.person_id,
            row=self.port.row,
            at=self.at,
            after_minutes=self.rules.whole("touch_again_minutes"),
        )
        return {"state": "ready", "confirm": confirm}

    def _refused(self, refusal: Refusal, own: int | None) -> dict[str, object]:
        name = refusal.needs_setting.removeprefix("S-")
        return {
            "state": "refused",
            "refusal": refusal,
            "needs_setting": int(name) if name.isdigit() else own,
        }

    def _shut(self) -> tuple[AskedPoint, ...]:
        return open_points(Gate.METAL_OFF, self.sheet.facts, [self.port.label])

    # What is shown

    def _pocket_now(self) -> str:
        found = pocket_findings(self.sheet.rows, self.rows, self.sheet.targets, self.rules)
        return found.told(self.job.unit.value)

    def _heads(self) -> int:
        return self.session.exec(
            select(func.count(col(Head.id))).where(Head.job_id == self.job.id)
        ).one()

    def _machine(self) -> str:
        if self.now is None:
            return ""
        return self.session.get_one(Machine, self.now.clamp_up.machine_id).name

    def _stop(self) -> Stop | None:
        if self.now is None or self.rows.port_pass is None:
            return None
        return stop_for(self.rows, self.now.clamp_up, self.rules, self.job.unit.value)

    def _on_page(self, heads: int) -> SettingOnPage | None:
        setting = self.setting
        if setting is None:
            return None
        open_ones = [each for each in setting.ports if each.port_pass.closed_at is None]
        at = next((n for n, each in enumerate(open_ones) if each.port.id == self.port.id), -1)
        onward = [*open_ones[at + 1 :], *open_ones[: max(at, 0)]]
        cut = self._cut_already([*onward, *open_ones])

        def told(*, bored: bool) -> str:
            return listed(
                [
                    port_name(each.head, each.label, heads).told
                    for each in open_ones
                    if (each.port_pass.id in cut) is bored
                ]
            )

        return SettingOnPage(
            rows=setting,
            name=setting_name(setting.setting),
            only=told(bored=False),
            bored=told(bored=True),
            next=next((each for each in onward if each.port_pass.id not in cut), None),
        )

    def _cut_already(self, named: Sequence[NamedPort]) -> set[int]:
        """Passes that were cut to size, on this head or another of the job."""
        done = {
            rows.port_pass.id
            for rows in self.sheet.rows.ports
            if rows.port_pass and rows.cut and not rows.cut.is_first_pass
        }
        others = [each.port_pass.id for each in named if each.head.id != self.head.id]
        if others:
            done |= set(
                self.session.exec(
                    select(Cut.port_pass_id).where(
                        col(Cut.port_pass_id).in_(others), col(Cut.is_first_pass).is_(False)
                    )
                )
            )
        return done

    def _opened(self) -> Opened | None:
        opening = self.rows.opening
        if opening is None or not is_open(self.rows):
            return None
        minutes = self.rules.whole("touch_again_minutes")
        is_own = opening.by_id == self.person_id
        clamp_up_id = self.now.clamp_up.id if self.now else None
        return Opened(
            at=opening.at,
            by=self.session.get_one(Person, opening.by_id).name,
            is_own=is_own,
            is_old=not is_own
            or opening.clamp_up_id != clamp_up_id
            or self.at - opening.at >= timedelta(minutes=minutes),
        )

    def _uncentred(self) -> str:
        """Why the spindle may not stand over this bore any more; empty while it does."""
        opening, now, setting = self.rows.opening, self.now, self.setting
        if now is None:
            return HEAD_OFF
        if opening is None or opening.clamp_up_id != now.clamp_up.id:
            return ELSEWHERE
        newest = self.session.exec(
            select(func.max(col(CutOpening.id))).where(CutOpening.clamp_up_id == now.clamp_up.id)
        ).one()
        if newest != opening.id:
            return ELSEWHERE
        standing = (
            standing_now(
                self.session,
                setting,
                person_id=self.person_id,
                clamp_up_id=now.clamp_up.id,
                at=self.at,
                zone=shop_zone(self.session),
            )
            if setting
            else None
        )
        return "" if standing is None or standing.is_live else LAPSED

    def _advice(self) -> Advice | None:
        if self.setting is None:
            return None
        return advice_for(self.session, self.sheet, self.rows, self.setting, self.rules)

    def _figures(self, last: ReadingSet | None) -> dict[str, object]:
        setting, material = self.setting, self.head.material
        expected = setting.expected_bore if setting else None
        if expected is None or material is None or setting is None:
            return {"expected": expected}
        day = self.rules.number("temperature_c")
        part_c = last.part_temperature_c if last else None
        gauge_c = last.gauge_temperature_c if last else None
        named = setting.named(self.port.id)
        return {
            "expected": expected,
            "today": bore_today(
                self.session,
                self.head,
                expected,
                Warmth(
                    part_c=day if part_c is None else part_c,
                    gauge_c=day if gauge_c is None else gauge_c,
                    division=self._division(last),
                ),
                self.job.unit.value,
                window=(named.setting_port.bore_low, named.setting_port.bore_high)
                if named
                else None,
                depth=depth_wanted(self.session, self.rows),
            ),
            "spindle": spindle_hint(material, expected, self.rules, self.job.unit.value),
        }

    def _division(self, last: ReadingSet | None) -> Length:
        """One division of the gauge in hand."""
        key = last.with_instrument_id if last else None
        found = self.session.get(Instrument, key) if key is not None else None
        return found.division if found else DIVISION

    def _fit(self, proof: Proof) -> Fit | None:
        got = proof.verification
        return fit_at(
            fits_sources(self.session, self.rules),
            self.sheet,
            self.rows,
            got.interference if got else None,
        )

    def _instruments(self) -> tuple[Instrument, ...]:
        return tuple(
            self.session.exec(
                select(Instrument)
                .where(Instrument.kind == InstrumentKind.BORE, col(Instrument.retired_at).is_(None))
                .order_by(col(Instrument.name))
            )
        )
