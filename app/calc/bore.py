"""From measured ring to counterbore: ring, label, rule, target and depth in one working."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from app.calc.depth import Datum, counterbore_depth
from app.calc.errors import MissingError
from app.calc.label import LabelMeans, label_question
from app.calc.materials import REFERENCE_C, HeadMaterial
from app.calc.ring import measured_ring
from app.calc.rules import DEFAULT_RULES, Interference, Rule, rule_for
from app.calc.target import target_bore
from app.calc.trace import Calculation, Result
from app.calc.units import Length

CALCULATION = Calculation("bore", 1)

OD_SPREAD_LIMIT = Length.of(".0010")
BUILT_IN = "built_in_interference"
OD_SPREAD = "od_spread"


@dataclass(frozen=True, kw_only=True)
class Bore(Result):
    """The counterbore for one measured ring, the rule behind it, and what must be asked."""

    ring_od: Length
    ring_od_spread: Length
    ring_height: Length
    target_bore: Length
    bore_low: Length
    bore_high: Length
    depth: Length
    label_difference: Length | None
    rule: Interference
    rule_source: str
    questions: tuple[str, ...]


def counterbore(
    *,
    head_material: HeadMaterial,
    ring_od: Sequence[Length],
    ring_height: Sequence[Length],
    window: Interference | None,
    window_source: str,
    rules: Iterable[Rule] = DEFAULT_RULES,
    protrusion: Length,
    deck_stock: Length,
    datum: Datum | None,
    label_od: Length | None,
    label_means: LabelMeans,
    ring_temperature_c: float,
    ring_alpha_per_k: Fraction | float | None,
    gauge_temperature_c: float,
    spread_limit: Length = OD_SPREAD_LIMIT,
    unit: str = "in",
) -> Bore:
    """Target, window and depth of the counterbore, from the readings whatever a label says.

    D = ΣOD/n at 20 °C; B = D − aim; window [D − most, D − least]; H = h − protrusion + deck stock

    Parameters
    ----------
    head_material : HeadMaterial
        what the casting is made of [-]
    ring_od : sequence of Length
        OD readings as typed [nm]
    ring_height : sequence of Length
        height readings as typed [nm]
    window : Interference
        the window to work to, or None for the rule of this material and ring OD [nm]
    window_source : str
        who gave that window; not used with None [-]
    rules : iterable of Rule
        the shop's rules, oldest first [-]
    protrusion : Length
        how far the ring is to stand proud; negative when recessed [nm]
    deck_stock : Length
        metal still to come off the deck; only with the deck as datum [nm]
    datum : Datum
        what the depth is measured from, or None when that is not said [-]
    label_od : Length
        size on the box, or None [nm]
    label_means : LabelMeans
        what that size stands for [-]
    ring_temperature_c : float
        ring's temperature when read [°C]
    ring_alpha_per_k : Fraction or float
        ring's expansion; needed when it was not read at 20 °C [1/K]
    gauge_temperature_c : float
        gauge's temperature when read [°C]
    spread_limit : Length
        OD spread over which the ring is questioned [nm]
    unit : str
        ``in`` or ``mm``, for the working [-]

    Returns
    -------
    Bore
        each length rounded once; ``questions`` of ``built_in_interference`` and ``od_spread``

    Raises
    ------
    MissingError
        field ``ring_alpha_per_k`` when the ring was not read at 20 °C; ``interference`` when no
        rule fits.

    >>> found = counterbore(
    ...     head_material=HeadMaterial.GREY_IRON,
    ...     ring_od=[Length.of(od) for od in ("1.6262", "1.6260", "1.6261", "1.6263")],
    ...     ring_height=[Length.of(".2500")], window=None, window_source="",
    ...     protrusion=Length(0), deck_stock=Length(0), datum=Datum.DECK, label_od=None,
    ...     label_means=LabelMeans.UNKNOWN, ring_temperature_c=20, ring_alpha_per_k=None,
    ...     gauge_temperature_c=20)
    >>> found.target_bore.inches(5), found.depth.inches(4), found.questions
    ('1.62215', '.2500', ())
    """
    if ring_temperature_c != REFERENCE_C and ring_alpha_per_k is None:
        raise MissingError("ring_alpha_per_k", "is needed: the ring was not read at 20 °C")
    ring = measured_ring(
        od=ring_od,
        height=ring_height,
        temperature_c=ring_temperature_c,
        gauge_temperature_c=gauge_temperature_c,
        alpha_per_k=ring_alpha_per_k,
        unit=unit,
    )
    rule, source = window, window_source
    if rule is None:
        chosen = rule_for(material=head_material, ring_od=ring.od, rules=rules)
        rule, source = chosen.interference, f"{chosen.source}: {chosen.words}"
    target = target_bore(ring_od_nm=ring.od_nm, window=rule, rule_source=source, unit=unit)
    depth = counterbore_depth(
        ring_height_nm=ring.height_nm,
        protrusion=protrusion,
        deck_stock=deck_stock,
        datum=datum,
        unit=unit,
    )
    label = None
    if label_od is not None:
        label = label_question(
            ring_ods_nm=[ring.od_nm],
            label_od=label_od,
            label_means=label_means,
            alike_within=spread_limit,
            unit=unit,
        )
    asks = {
        BUILT_IN: label is not None and label.asks,
        OD_SPREAD: ring.od_spread > spread_limit,
    }
    return Bore(
        calculation=CALCULATION,
        inputs={
            "head_material": head_material,
            "ring_od": tuple(ring_od),
            "ring_height": tuple(ring_height),
            "rule": rule,
            "rule_source": source,
            "protrusion": protrusion,
            "deck_stock": deck_stock,
            "datum": datum,
            "label_od": label_od,
            "label_means": label_means,
            "ring_temperature_c": ring_temperature_c,
            "ring_alpha_per_k": ring_alpha_per_k,
            "gauge_temperature_c": gauge_temperature_c,
            "spread_limit": spread_limit,
        },
        ring_od=ring.od,
        ring_od_spread=ring.od_spread,
        ring_height=ring.height,
        target_bore=target.target_bore,
        bore_low=target.bore_low,
        bore_high=target.bore_high,
        depth=depth.depth,
        label_difference=None if label is None else label.differences[0],
        rule=rule,
        rule_source=source,
        questions=tuple(code for code, is_asked in asks.items() if is_asked),
        working=ring.working
        + (() if label is None else label.working[:-1])
        + target.working
        + depth.working,
    )
