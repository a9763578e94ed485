"""From measured ring to counterbore in one working."""

from fractions import Fraction

import pytest

from app.calc.bore import counterbore
from app.calc.depth import Datum
from app.calc.errors import MissingError, OrderError
from app.calc.label import LabelMeans
from app.calc.materials import HeadMaterial
from app.calc.rules import interference
from app.calc.trace import canonical
from app.calc.units import Length

CHECKS = {
    "counterbore": "the parts are checked each by itself; here they agree (own, consistency only)",
}
READ = ("1.6262", "1.6260", "1.6261", "1.6263")


def work(**changed):
    given = {
        "head_material": HeadMaterial.GREY_IRON,
        "ring_od": [Length.of(one) for one in READ],
        "ring_height": [Length.of(".2500")],
        "window": None,
        "window_source": "",
        "protrusion": Length(0),
        "deck_stock": Length(0),
        "datum": Datum.CHAMBER_ROOF,
        "label_od": None,
        "label_means": LabelMeans.UNKNOWN,
        "ring_temperature_c": 20,
        "ring_alpha_per_k": None,
        "gauge_temperature_c": 20,
    }
    return counterbore(**{**given, **changed})


def test_a_measured_ring_gives_its_bore_by_the_default_rule():
    found = work()
    assert found.target_bore == Length.of("1.62215")
    assert (found.bore_low, found.bore_high) == (Length.of("1.62115"), Length.of("1.62315"))
    assert found.depth == Length.of(".2500")
    assert found.rule_source.startswith("common practice")
    assert found.questions == ()


@pytest.mark.parametrize("means", LabelMeans)
def test_no_label_changes_the_bore(means: LabelMeans):
    found = work(label_od=Length.of("1.622"), label_means=means)
    assert found.target_bore == work().target_bore
    assert found.label_difference == Length.of(".00415")
    is_open = means in (LabelMeans.UNKNOWN, LabelMeans.RING_OD)
    assert found.questions == (("built_in_interference",) if is_open else ())


def test_an_oval_ring_is_questioned_only_over_the_limit():
    at = [Length.of("1.6260"), Length.of("1.6270")]
    over = [Length.of("1.6260"), Length.of("1.62701")]
    assert work(ring_od=at).questions == ()
    assert work(ring_od=over).questions == ("od_spread",)


def test_a_given_window_goes_before_the_default():
    own = interference(least=Length.of(".002"), most=Length.of(".003"))
    found = work(window=own, window_source="engine maker")
    assert found.target_bore == Length.of("1.62365")
    assert found.rule_source == "engine maker"


def test_the_rule_goes_by_the_size_at_20_degrees():
    warm = work(
        head_material=HeadMaterial.ALUMINIUM,
        ring_od=[Length.of("1.5001")],
        ring_temperature_c=60,
        ring_alpha_per_k=12e-6,
    )
    assert warm.ring_od < Length.of("1.5")
    assert warm.rule.aim == Length.of(".0070")


def test_a_warm_ring_needs_its_expansion():
    with pytest.raises(MissingError) as refused:
        work(ring_temperature_c=25)
    assert refused.value.field == "ring_alpha_per_k"


def test_deck_stock_needs_the_deck():
    with pytest.raises(OrderError):
        work(deck_stock=Length.of(".008"))
    assert work(deck_stock=Length.of(".008"), datum=Datum.DECK).depth == Length.of(".258")


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_the_shown_figures_subtract_in_either_unit(unit: str):
    found = work(unit=unit, ring_od=[Length.of(one) for one in READ[:3]])
    figures = {step.symbol: Fraction(step.value) for step in found.working if step.symbol}
    assert figures["D"] - figures["I"] == figures["B"]
    assert figures["h"] - figures["p"] + figures["s"] == figures["H"]


def test_a_result_can_be_written_down_and_is_the_same_text_each_time():
    assert canonical(work()) == canonical(work())
    assert '"name":"bore","version":1' in canonical(work())
