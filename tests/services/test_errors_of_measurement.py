"""How far an interference may be wrong, from the rows of what it was read with."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from math import sqrt
from statistics import stdev

import pytest
from sqlmodel import select

from app.calc.units import Length
from app.forms.crib import CheckForm, InstrumentForm
from app.models.crib import Instrument
from app.models.port_pass import Verification
from app.models.ring import RingSet
from app.queries.shop_rules import current_rules
from app.services.instruments import check_instrument, create_instrument
from app.services.readings import ReadWith
from app.services.shop_rules import set_rule
from app.workflow.kinds import ResultKind, Unit
from app.worksheets.errors_of_measurement import PossibleError
from app.worksheets.facts import load_sheet
from app.worksheets.plans import errors_of
from app.worksheets.verifications import Proof, prove
from seed_demo.hands import filled
from tests.services.floor import Floor

TENTH = Length.of(".0001").nm
MILLIONTHS = 1_000_000


class Shop:
    """The floor with a micrometer, a bore gauge, and 2E cut to size."""

    def __init__(self, floor: Floor) -> None:
        self.floor = floor

    def tool(
        self,
        name: str,
        kind: str,
        *,
        error: str = ".0001",
        repeats: str = ".0001",
        master: str = "setting ring",
        off_by: str = ".00005",
    ) -> Instrument:
        raw = {"name": name, "kind": kind, "unit": "in", "division": ".0001"}
        raw |= {"greatest_error": error, "repeatability": repeats}
        with self.floor.hands.writing() as tx:
            made = create_instrument(tx, filled(InstrumentForm(raw, unit=Unit.INCH)))
        self.check(made, master=master, off_by=off_by)
        return made

    def check(
        self,
        tool: Instrument,
        read: str = "1.6000",
        master: str = "setting ring",
        off_by: str = ".00005",
    ) -> None:
        raw = {"master": "1.6000", "read": read, "master_name": master}
        form = filled(CheckForm({**raw, "master_uncertainty": off_by}, instrument=tool))
        with self.floor.hands.writing() as tx:
            check_instrument(tx, tool.id, form)

    def rings(self, read_with: ReadWith, od: str = "1.6262") -> RingSet:
        """Two rings alike for 2E and 3E, the first read at four places and the other at two."""
        floor = self.floor
        return floor.hands.rings(
            floor.job,
            [floor.ports["2E"], floor.ports["3E"]],
            [[od, od, od, od, ".2501", ".2501", ".2501", "1.376"], [od, od, ".2501"]],
            read_with,
        )

    def cut(self, size: str = "1.6222", read_with: ReadWith | None = None) -> None:
        """2E cut to size and gauged across, along and for depth."""
        floor = self.floor
        floor.trust_any_tip()
        setting = floor.set_up()
        floor.clamp()
        texts = [size, size, ".2501"]
        floor.hands.cut(floor.ports["2E"], setting, texts, read_with or ReadWith())

    def proof(self) -> Proof:
        with self.floor.database.read() as session:
            sheet = load_sheet(session, self.floor.head)
            rows = sheet.rows.port(self.floor.ports["2E"].id)
            return prove(session, sheet, rows, current_rules(session))

    def error(self) -> PossibleError:
        found = self.proof().error
        assert found is not None
        return found

    def rule(self, key: str, value: str) -> None:
        with self.floor.hands.writing() as tx:
            set_rule(tx, key, value, "tried out")


@pytest.fixture
def shop(floor: Floor) -> Shop:
    return Shop(floor)


def gauged(shop: Shop, *, ring_c: float | None = None, bore_c: float | None = None) -> None:
    """Both read with named instruments that were zeroed on masters of their own."""
    micrometer = shop.tool("Mike", "od", master="disc")
    bore_gauge = shop.tool("Gauge", "bore", error=".0002", repeats=".0002")
    shop.rings(ReadWith(micrometer.id, part_c=ring_c, gauge_c=ring_c))
    shop.cut(read_with=ReadWith(bore_gauge.id, part_c=bore_c, gauge_c=bore_c))


def tenths(squared: float) -> float:
    """Root of a sum of squares in tenths, in nanometres."""
    return sqrt(squared) * TENTH


def test_without_instruments_the_shops_figures_stand_in_and_the_working_says_so(
    shop: Shop,
) -> None:
    shop.floor.read_rings()
    shop.rule("temperature_within", "0")
    shop.cut()
    proof = shop.proof()
    assert proof.verification is not None
    # root of .0001² + .0002²
    assert proof.verification.uncertainty.nm == pytest.approx(tenths(5), abs=1)
    told = " ".join(step.text for step in proof.verification.working)
    assert "ring OD: the micrometer is not named, so the shop's figure stands in" in told
    assert "bore: the bore gauge is not named" in told


def test_named_instruments_are_summed_as_the_guide_says(shop: Shop) -> None:
    """JCGM 100:2008: a/√3 for limits (4.3.7), d/√12 for a division (F.2.2.1), U/2 for a master
    (4.3.3), s/√n for a mean (4.2.3), all in squares (5.1.2), k = 2. In tenths:

    ring: 1²/3 + 1²/12 + (.5/2)² + (1/2)²/2 = .60417
    bore: 2²/3 + 1²/12 + (.5/2)² + (2/2)²/2 = 1.97917
    """
    shop.rule("temperature_within", "0")
    gauged(shop)
    error = shop.error()
    assert error.ring.expanded.nm == pytest.approx(2 * tenths(0.604166667), abs=1)
    assert error.bore.expanded.nm == pytest.approx(2 * tenths(1.979166667), abs=1)
    assert error.shared_master == Length(0)
    assert error.expanded.nm == pytest.approx(2 * tenths(2.583333333), abs=1)
    assert error.most == "most of it is the bore gauge's greatest error"
    assert error.parts[0].percent == 52  # 1.3333 of 2.5833


def test_the_verdict_takes_that_error_and_freezes_its_parts(shop: Shop) -> None:
    gauged(shop)
    found = shop.proof().verification
    assert found is not None
    assert found.uncertainty == shop.error().expanded
    shop.floor.hands.prove(shop.floor.ports["2E"], edge_is_known=True)
    with shop.floor.database.read() as session:
        rows = load_sheet(session, shop.floor.head).rows
        port_pass = rows.port(shop.floor.ports["2E"].id).port_pass
        assert port_pass is not None
        accepted = rows.accepted.of_pass(port_pass.id, ResultKind.VERIFICATION)
        assert accepted is not None
        told = [step.text for step in accepted.working]
    assert any(text.startswith("bore: instrument, within ± .0002") for text in told)
    assert any(text.startswith("ring OD: repeatability, mean of 2") for text in told)


def test_a_master_of_both_gauges_cancels_whatever_its_name_is_written_like(shop: Shop) -> None:
    """In squares of tenths 2.5833 as with masters apart, less 2·(.5/2)² = .125."""
    shop.rule("temperature_within", "0")
    micrometer = shop.tool("Mike", "od", master="Setting ring 1.6 ")
    bore_gauge = shop.tool(
        "Gauge", "bore", error=".0002", repeats=".0002", master="setting RING 1.6"
    )
    shop.rings(ReadWith(micrometer.id))
    shop.cut(read_with=ReadWith(bore_gauge.id))
    error = shop.error()
    assert error.shared_master == Length.of(".00005")
    assert error.expanded.nm == pytest.approx(2 * tenths(2.458333333), abs=1)
    assert sum(part.percent for part in error.parts) in (99, 100, 101)


def test_a_master_without_a_name_is_never_taken_as_shared(shop: Shop) -> None:
    micrometer = shop.tool("Mike", "od", master="")
    bore_gauge = shop.tool("Gauge", "bore", master="")
    shop.rings(ReadWith(micrometer.id))
    shop.cut(read_with=ReadWith(bore_gauge.id))
    assert shop.error().shared_master == Length(0)


def test_a_bore_gauge_zeroed_in_the_very_micrometer_leaves_its_error_out(shop: Shop) -> None:
    """The micrometer's 1²/3 + (.5/2)² is in both and cancels; what is left, in squares of tenths:
    ring 1²/12 + (1/2)²/2, bore 2²/3 + 1²/12 + (2/2)²/2.
    """
    shop.rule("temperature_within", "0")
    micrometer = shop.tool("Mike", "od", master="disc")
    bore_gauge = shop.tool("Gauge", "bore", error=".0002", repeats=".0002", master="mike")
    shop.rings(ReadWith(micrometer.id))
    shop.cut(read_with=ReadWith(bore_gauge.id))
    error = shop.error()
    assert error.expanded.nm == pytest.approx(2 * tenths(2.125), abs=3)
    assert not any(part.words == "the micrometer's greatest error" for part in error.parts)
    found = shop.proof().verification
    assert found is not None
    assert abs((found.uncertainty - error.expanded).nm) <= 2
    assert any("which read the ring" in step.text for step in found.working)


def test_a_later_check_that_found_more_than_the_instrument_may_err_counts(shop: Shop) -> None:
    shop.rule("temperature_within", "0")
    micrometer = shop.tool("Mike", "od", master="disc")
    bore_gauge = shop.tool("Gauge", "bore", error=".0002", repeats=".0002")
    shop.rings(ReadWith(micrometer.id))
    shop.cut(read_with=ReadWith(bore_gauge.id))
    shop.check(bore_gauge, read="1.6004")
    error = shop.error()
    # 4²/3 in the place of 2²/3
    assert error.bore.expanded.nm == pytest.approx(2 * tenths(1.979166667 + 4), abs=1)
    assert error.most == "most of it is what the bore gauge's check found"


def test_one_thermometer_for_all_errs_alike_in_ring_and_head(shop: Shop) -> None:
    """D·α·ΔT/√3 of the iron head alone, since the ring's alloy is not known: taken as read."""
    shop.rule("temperature_within", "3")
    gauged(shop)
    heat = shop.error().heat
    limits = Length.of("1.6262").nm * 11.4e-6 * 3
    assert heat.expanded.nm == pytest.approx(2 * limits / sqrt(3), abs=2)


def test_typed_temperatures_err_each_for_itself(shop: Shop) -> None:
    """JCGM 100:2008, 5.1.2: D·11.4e-6·2/√3 of the head and D·11.5e-6·2/√3 of each gauge."""
    gauged(shop, ring_c=20, bore_c=20)
    heat = shop.error().heat
    one = Length.of("1.6262").nm * 2e-6 / sqrt(3)
    expected = 2 * one * sqrt(11.4**2 + 2 * 11.5**2)
    assert heat.expanded.nm == pytest.approx(expected, abs=2)


def test_what_was_read_yesterday_keeps_yesterdays_temperature(shop: Shop) -> None:
    shop.rule("temperature_c", "28")
    gauged(shop)
    before = shop.proof().verification
    shop.floor.hands.later(hours=20)
    shop.rule("temperature_c", "16")
    after = shop.proof().verification
    assert before is not None
    assert after is not None
    assert after.inputs["bore_temperature_c"] == 28
    assert (after.interference, after.uncertainty) == (before.interference, before.uncertainty)


def test_an_instruments_new_figures_leave_what_was_accepted_alone(shop: Shop) -> None:
    gauged(shop)
    shop.floor.hands.prove(shop.floor.ports["2E"], edge_is_known=True)
    with shop.floor.database.write() as session:
        for tool in session.exec(select(Instrument)):
            tool.greatest_error = Length.of(".0009")
    with shop.floor.database.read() as session:
        kept = session.exec(select(Verification)).one()
    assert kept.uncertainty < Length.of(".0004")
    found = shop.proof().verification
    assert found is not None
    assert found.uncertainty > Length.of(".0009")


def test_a_plan_is_narrowed_by_the_gauges_that_will_be_used(shop: Shop) -> None:
    """The only bore gauge of the crib is the one; with two of them the shop's figure stands in."""
    shop.rule("temperature_within", "0")
    micrometer = shop.tool("Mike", "od", master="disc")
    shop.tool("Gauge", "bore", error=".0002", repeats=".0002")
    shop.rings(ReadWith(micrometer.id))

    def narrowed() -> Length:
        with shop.floor.database.read() as session:
            sheet = load_sheet(session, shop.floor.head)
            target = sheet.targets[shop.floor.ports["2E"].id]
            errors = errors_of(session, [target], current_rules(session), "in")
            return errors[target.rows.port.id]

    assert narrowed().nm == pytest.approx(2 * tenths(2.583333333), abs=2)
    shop.tool("Other gauge", "bore", error=".0002")
    assert narrowed().nm == pytest.approx(tenths(4 * 0.604166667 + 4), abs=2)


def test_a_simulated_shop_errs_as_much_as_the_rows_say(shop: Shop) -> None:
    """JCGM 101:2008: every error drawn for itself, 20 000 times, by what stands in the rows."""
    shop.floor.hands.step = timedelta(minutes=1)
    gauged(shop, ring_c=27, bore_c=24)
    found = shop.error()
    by_rows = {"ring": found.ring.taken, "bore": found.bore.taken}
    draw = random.Random(14253)
    size = Length.of("1.6262").nm
    runs = []
    for _ in range(20_000):
        read = {}
        for side, taken in by_rows.items():
            gauge = taken.gauge
            off = draw.uniform(-1, 1) * gauge.greatest_error.nm
            off += draw.uniform(-0.5, 0.5) * gauge.division.nm
            off += draw.gauss(0, gauge.master.nm / 2)
            off += draw.gauss(0, taken.repeatability.nm / 2 / sqrt(taken.readings))
            warm = float(taken.temperature_c) + draw.uniform(-2, 2)
            scale = float(taken.temperature_c) + draw.uniform(-2, 2)
            alpha = float(taken.alpha_per_k)
            alpha += draw.uniform(-1, 1) * float(taken.alpha_within_per_k)
            grown = (1 + 11.5e-6 * (scale - 20)) / (1 + alpha * (warm - 20))
            read[side] = (size + off) * grown
        runs.append(read["ring"] - read["bore"])
    assert found.expanded.nm == pytest.approx(2 * stdev(runs), rel=0.03)
    assert replace(by_rows["bore"], alpha_per_k=Fraction(0)).alpha_within_per_k == Fraction(
        15, 10 * MILLIONTHS
    )
