"""How long the arithmetic itself takes: own processor time, best of many, whatever else runs."""

import json
import time
from collections.abc import Callable
from types import ModuleType

import pytest

from app.api.calc.fields import Fields
from app.api.calc.router import ENDPOINTS
from app.calc.decision import DecisionRule
from app.calc.hot_expansion import RING_POINTS
from app.calc.materials import HeadMaterial
from app.calc.plan import PlannedPort, setting_plan
from app.calc.press_fit import Elastic, Parts, press_fit
from app.calc.rules import interference
from app.calc.running_fit import heat_cases, running_fit
from app.calc.setting import FixtureMode, size_setting
from app.calc.target import target_bore
from app.calc.units import Length
from app.calc.verify import verify

WINDOW = interference(least=Length.of(".006"), aim=Length.of(".007"), most=Length.of(".008"))
QUARTER, HALF, TWO_TENTHS = Length.of(".25"), Length.of(".5"), Length.of(".0002")
RING, HEAD = Elastic(200, 0.30), Elastic(72.4, 0.33)


def best_ms(work: Callable[[], object], runs: int = 25) -> float:
    """Milliseconds of this process's own time, of the quickest run."""
    found = []
    for _ in range(runs):
        started = time.process_time()
        work()
        found.append(time.process_time() - started)
    return min(found) * 1000


def ring_ods(count: int) -> list[Length]:
    """Rings of a job: a few ten-thousandths apart, in two sizes."""
    return [
        Length.of("1.6260") + Length.of(".0001") * (i * 7 % 11) - Length.of(".2") * (i % 2)
        for i in range(count)
    ]


def planned(count: int) -> list[PlannedPort]:
    return [PlannedPort(f"{i}", od, WINDOW, TWO_TENTHS) for i, od in enumerate(ring_ods(count))]


def whole_working(ports: list[PlannedPort]) -> list[object]:
    """Targets, plan, settings, verdicts, hot fits and press fits of one job."""
    plan = setting_plan(ports=ports, repeatability=TWO_TENTHS)
    settings = [
        size_setting(
            target_bore=one.bore,
            overcut=Length.of(".0003"),
            mode=FixtureMode.ACROSS_PILOT,
            pilot=Length.of(".3432"),
            resolution=Length.of(".0001"),
        )
        for one in plan.settings
    ]
    cases = {
        is_exhaust: heat_cases(
            head_material=HeadMaterial.ALUMINIUM,
            is_exhaust=is_exhaust,
            ring_points=RING_POINTS["chromium_steel"],
        )
        for is_exhaust in (True, False)
    }
    found: list[object] = [plan, *settings]
    for i, od in enumerate(port.ring_od for port in ports):
        target = target_bore(ring_od_nm=od.nm, window=WINDOW, rule_source="shop")
        proof = verify(
            ring_od=[od, od, od, od],
            bore=[target.target_bore] * 6,
            interference_min=WINDOW.least,
            interference_max=WINDOW.most,
            ring_uncertainty=TWO_TENTHS,
            bore_uncertainty=TWO_TENTHS,
            decision_rule=DecisionRule.ISO_14253_1_2017,
        )
        found += [
            target,
            proof,
            running_fit(diameter=od, interference=proof.interference, cases=cases[i % 2 == 0]),
            press_fit(
                interference=proof.interference,
                parts=Parts(od - QUARTER, od, od + HALF, RING, HEAD),
                height=QUARTER,
                friction_low=0.1,
                friction_high=0.2,
            ),
        ]
    return found


def test_the_whole_working_of_32_positions_takes_under_20_ms():
    ports = planned(32)
    assert len(whole_working(ports)) > 32 * 4
    assert best_ms(lambda: whole_working(ports)) < 20


def test_a_plan_of_64_positions_takes_under_2_ms():
    ports = planned(64)
    assert best_ms(lambda: setting_plan(ports=ports, repeatability=TWO_TENTHS)) < 2


@pytest.mark.parametrize("endpoint", ENDPOINTS, ids=lambda one: one.__name__.rpartition(".")[2])
def test_a_calls_own_calculation_takes_under_1_ms(endpoint: ModuleType):
    asked = endpoint.PAGE["openapi_extra"]["requestBody"]["content"]["application/json"]["example"]
    body = json.dumps(asked).encode()
    work = endpoint.router.routes[0].endpoint
    assert work(Fields.of(body)).status_code == 200
    assert best_ms(lambda: work(Fields.of(body)), runs=100) < 1
